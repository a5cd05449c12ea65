#include "disc/tracking.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double lead_in_pitch_m = 1.2e-3;
constexpr double lead_out_pitch_m = 6.4e-3;
constexpr double rim_m = 1e-3;
constexpr double largest_offset_m = 5e-3;
constexpr double usual_arm_m = 0.23;
constexpr double rounding_rad = 4e-12;  ///< of a platter angle after some thousand turns

}  // namespace

Tracking::Tracking(const works::PlayedSide& played, const Groove& groove, double finishing_radius_m)
    : groove_{groove},
      arm_{played.arm},
      warp_{played.warp},
      eccentricity_m_{played.eccentricity_m},
      direction_rad_{played.eccentricity_direction_deg * tau / 360.0} {
  const double outer_m = groove.radius_m(0.0);
  edge_radius_m_ =
      played.side.disc_diameter_m > 0.0 ? played.side.disc_diameter_m / 2.0 : outer_m + 4.0 * rim_m;
  lead_in_radius_m_ = std::max(outer_m, edge_radius_m_ - rim_m);
  finishing_radius_m_ = std::min(groove.radius_m(groove.duration_s()), finishing_radius_m);
}

Result<Tracking> Tracking::of(const works::PlayedSide& played,
                              const Groove& groove,
                              double finishing_radius_m) {
  const double offset_m = played.eccentricity_m;
  if (!(offset_m >= 0.0 && offset_m <= largest_offset_m) ||
      !std::isfinite(played.eccentricity_direction_deg))
    return Error{
        Fault::out_of_range,
        fmt::format(
            "the hole offset is {} mm; give 0 to {} mm", offset_m * 1e3, largest_offset_m * 1e3)};
  Tracking tracking{played, groove, finishing_radius_m};
  if (tracking.arm_.known()) {
    const double length_m = tracking.arm_.effective_length_m;
    const double mount_m = tracking.arm_.mounting_distance_m;
    const double furthest_m = tracking.lead_in_radius_m_ + offset_m;
    const double nearest_m = tracking.finishing_radius_m_ - offset_m;
    if (!(furthest_m < length_m + mount_m && nearest_m > std::abs(length_m - mount_m)))
      return Error{
          Fault::out_of_range,
          fmt::format(
              "an arm of {:.1f} mm mounted at {:.1f} mm reaches radii of {:.1f} to {:.1f} mm, the "
              "groove runs from {:.1f} to {:.1f} mm; check arm length and mounting",
              length_m * 1e3,
              mount_m * 1e3,
              std::abs(length_m - mount_m) * 1e3,
              (length_m + mount_m) * 1e3,
              nearest_m * 1e3,
              furthest_m * 1e3)};
  }
  tracking.stylus_direction_rad_ = tracking.contact(0.0).platter_rad;
  return tracking;
}

double Tracking::radius_m(double programme_s) const {
  if (programme_s < 0.0)
    return std::min(lead_in_radius_m_,
                    groove_.radius_m(0.0) - lead_in_pitch_m * programme_s / groove_.turn_s());
  const double beyond_s = programme_s - groove_.duration_s();
  if (beyond_s > 0.0)
    return std::max(
        finishing_radius_m_,
        groove_.radius_m(groove_.duration_s()) - lead_out_pitch_m * beyond_s / groove_.turn_s());
  return groove_.radius_m(programme_s);
}

double Tracking::inward_m_per_rad(double programme_s) const {
  if (programme_s < 0.0)
    return radius_m(programme_s) < lead_in_radius_m_ ? lead_in_pitch_m / tau : 0.0;
  if (programme_s > groove_.duration_s())
    return radius_m(programme_s) > finishing_radius_m_ ? lead_out_pitch_m / tau : 0.0;
  return groove_.pitch_m(programme_s) / tau;
}

Tracking::Contact Tracking::contact(double theta) const {
  const double programme_s = theta / tau * groove_.turn_s();
  const double r = radius_m(programme_s);
  // In axes turned with theta the groove point, seen from the hole, is (x, y); it moves by (dx, dy)
  // a radian.
  const double away = direction_rad_ - theta;
  const double x = r + eccentricity_m_ * std::cos(away);
  const double y = eccentricity_m_ * std::sin(away);
  const double dx = -inward_m_per_rad(programme_s);
  const double dy = r;
  const double rho = std::hypot(x, y);
  Contact at{theta + std::atan2(y, x) - stylus_direction_rad_, (x * dy - y * dx) / (rho * rho)};
  if (!arm_.known()) return at;

  const double length = arm_.effective_length_m;
  const double mount = arm_.mounting_distance_m;
  const double cosine = (mount * mount + rho * rho - length * length) / (2.0 * mount * rho);
  const double cosine_slope =
      (rho * rho - mount * mount + length * length) / (2.0 * mount * rho * rho);
  at.platter_rad += std::acos(cosine);
  at.slope -= cosine_slope / std::sqrt(1.0 - cosine * cosine) * (x * dx + y * dy) / rho;
  return at;
}

double Tracking::lift_m(double programme_s) const {
  if (warp_.height_m == 0.0) return 0.0;
  const double theta = tau * programme_s / groove_.turn_s();
  return warp_.height_m * radius_m(programme_s) / edge_radius_m_ *
         std::cos(warp_.lobes * (theta - warp_.direction_deg * tau / 360.0));
}

double Tracking::drawn_s(double programme_s) const {
  if (warp_.height_m == 0.0) return 0.0;
  const double length_m = arm_.known() ? arm_.effective_length_m : usual_arm_m;
  const double along_m = warp_.pivot_height_m / length_m * lift_m(programme_s);
  return along_m / (tau * radius_m(programme_s)) * groove_.turn_s();
}

double Tracking::platter_rad(double programme_s) const {
  double undrawn_s = programme_s;
  if (warp_.height_m != 0.0)
    for (int step = 0; step < 8; ++step) undrawn_s = programme_s - drawn_s(undrawn_s);
  return contact(tau * undrawn_s / groove_.turn_s()).platter_rad;
}

double Tracking::programme_s(double platter) const {
  double theta = platter;
  for (int step = 0; step < 8; ++step) {
    const Contact at = contact(theta);
    const double miss_rad = at.platter_rad - platter;
    theta -= miss_rad / at.slope;
    if (std::abs(miss_rad) < rounding_rad) break;
  }
  const double undrawn_s = theta / tau * groove_.turn_s();
  return undrawn_s + drawn_s(undrawn_s);
}

}  // namespace goodside::disc
