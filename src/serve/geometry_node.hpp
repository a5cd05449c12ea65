#pragma once
#include "json/node.hpp"
#include "works/listening_report.hpp"

namespace goodside::serve {

/// The groove with the disc round it.
[[nodiscard]] json::Node geometry_node(const works::SideGeometry& geometry);

}  // namespace goodside::serve
