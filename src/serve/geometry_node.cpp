#include "serve/geometry_node.hpp"

#include "draw/disc_shape.hpp"

namespace goodside::serve {

json::Node geometry_node(const works::SideGeometry& geometry) {
  const draw::DiscShape shape = draw::disc_shape(geometry);
  return json::Node::Object{{"format", geometry.format},
                            {"rpm", geometry.rpm},
                            {"outer_radius_m", geometry.outer_radius_m},
                            {"inner_radius_m", geometry.inner_radius_m},
                            {"pitch_m", geometry.pitch_m},
                            {"edge_radius_m", shape.edge_radius_m},
                            {"label_radius_m", shape.label_radius_m},
                            {"hole_radius_m", shape.hole_radius_m}};
}

}  // namespace goodside::serve
