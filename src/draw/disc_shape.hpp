#pragma once
#include "works/listening_report.hpp"

namespace goodside::draw {

/// The disc round its groove.
struct DiscShape {
  double edge_radius_m{}, label_radius_m{}, hole_radius_m{};
};

/// The shape that belongs to the side: by the size that `format` begins with (7in, 10in, 12in),
/// otherwise the smallest that holds the outer groove. Source: disc diameters 175, 251, 301 mm,
/// label areas 93 and 102 mm, holes 7.24 mm and, at 45 rpm, 38.2 mm: JIS S 8502-1973, as quoted by
/// published comparisons of disc standards. A 78's label of 84 mm is common practice, no source. A
/// label is never drawn over recorded groove.
[[nodiscard]] DiscShape disc_shape(const works::SideGeometry&);

/// The groove's radius at a revolution counted from programme start, straight from the mean pitch
/// and held within the recorded band. Accuracy: exact at fixed pitch only.
[[nodiscard]] double groove_radius_m(const works::SideGeometry&, double revolution);

}  // namespace goodside::draw
