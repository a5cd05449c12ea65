#include "listen/arm_kinematics.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

double cos_arm_angle(const works::Arm& arm, double radius_m) {
  const double length_m = arm.effective_length_m;
  const double distance_m = arm.mounting_distance_m;
  return (radius_m + (distance_m - length_m) * (distance_m + length_m) / radius_m) /
         (2.0 * distance_m);
}

}  // namespace

bool reaches(const works::Arm& arm, double radius_m) {
  if (!(radius_m > 0.0) || !std::isfinite(radius_m)) return false;
  return !arm.known() || std::abs(cos_arm_angle(arm, radius_m)) < 1.0;
}

double arm_angle_rad(const works::Arm& arm, double radius_m) {
  if (!arm.known()) return 0.0;
  return std::acos(std::clamp(cos_arm_angle(arm, radius_m), -1.0, 1.0));
}

double arm_turn_rad_per_m(const works::Arm& arm, double radius_m) {
  EXPECTS(reaches(arm, radius_m));
  if (!arm.known()) return 0.0;
  const double cosine = cos_arm_angle(arm, radius_m);
  const double slope_per_m = 1.0 / arm.mounting_distance_m - cosine / radius_m;
  return -slope_per_m / std::sqrt((1.0 - cosine) * (1.0 + cosine));
}

double arm_drift(const works::Arm& arm, double radius_m, double pitch_m) {
  const double turn = arm_turn_rad_per_m(arm, radius_m) * pitch_m / (2.0 * std::numbers::pi);
  return turn / (1.0 - turn);
}

double offset_turn_rad(const works::Arm& arm, GroovePlace place, GrooveOffset offset) {
  const double cosine = std::cos(place.angle_rad);
  const double sine = std::sin(place.angle_rad);
  const double outward_m = place.radius_m + offset.along_m * cosine + offset.across_m * sine;
  const double forward_m = offset.across_m * cosine - offset.along_m * sine;
  const double turn_rad = std::atan2(forward_m, outward_m);
  if (!arm.known()) return turn_rad;
  return turn_rad + arm_angle_rad(arm, std::hypot(outward_m, forward_m)) -
         arm_angle_rad(arm, place.radius_m);
}

}  // namespace goodside::listen
