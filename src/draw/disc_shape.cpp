#include "draw/disc_shape.hpp"

#include <algorithm>

namespace goodside::draw {

DiscShape disc_shape(const works::SideGeometry& side) {
  const auto begins = [&](const char* size) { return side.format.starts_with(size); };
  const bool custom = !begins("7in") && !begins("10in") && !begins("12in");
  DiscShape shape{.edge_radius_m = 0.1505, .label_radius_m = 0.051, .hole_radius_m = 0.00362};
  if (begins("7in") || (custom && side.outer_radius_m <= 0.0845)) {
    shape.edge_radius_m = 0.0875;
    shape.label_radius_m = 0.0465;
    if (side.rpm > 40.0 && side.rpm < 50.0) shape.hole_radius_m = 0.0191;
  } else if (begins("10in") || (custom && side.outer_radius_m <= 0.1215)) {
    shape.edge_radius_m = 0.1255;
  }
  if (side.rpm > 60.0) shape.label_radius_m = std::min(shape.label_radius_m, 0.042);
  shape.edge_radius_m = std::max(shape.edge_radius_m, side.outer_radius_m + 0.002);
  shape.label_radius_m = std::min(shape.label_radius_m, side.inner_radius_m - 0.002);
  shape.hole_radius_m = std::min(shape.hole_radius_m, shape.label_radius_m * 0.5);
  return shape;
}

double groove_radius_m(const works::SideGeometry& side, double revolution) {
  return std::clamp(side.outer_radius_m - revolution * side.pitch_m,
                    std::min(side.inner_radius_m, side.outer_radius_m),
                    side.outer_radius_m);
}

}  // namespace goodside::draw
