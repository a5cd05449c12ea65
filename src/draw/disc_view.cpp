#include "draw/disc_view.hpp"

#include <cmath>
#include <numbers>

namespace goodside::draw {

double DiscView::page_angle_rad(double angle_deg) const {
  const double turned = (angle_deg - landmark_angle_deg) * std::numbers::pi / 180.0;
  return -std::numbers::pi / 2.0 + (is_mirrored(view) ? turned : -turned);
}

Point DiscView::place(double radius_m, double angle_deg) const {
  const double angle = page_angle_rad(angle_deg), radius = radius_m * units_per_m;
  return {centre.x + radius * std::cos(angle), centre.y + radius * std::sin(angle)};
}

}  // namespace goodside::draw
