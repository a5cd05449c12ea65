#include "metal/offset_region.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "stats/interval.hpp"
#include "stats/linear_fit.hpp"

namespace goodside::metal {
namespace {

constexpr double largest_freedom = 1e6;  // Student's t is the normal distribution there, to 1e-6

/// Least and greatest distance from the origin over an ellipse, to 1e-4 of its half axis. The border is walked; the
/// origin within makes the least one nought.
void put_reach(works::OffsetRegion& region, double x, double y, double major_rad) {
  constexpr int steps = 720;
  const double c = std::cos(major_rad), s = std::sin(major_rad);
  double nearest = std::numeric_limits<double>::infinity(), farthest = 0.0;
  for (int k = 0; k < steps; ++k) {
    const double t = 2.0 * std::numbers::pi * k / steps;
    const double u = region.half_major_m * std::cos(t), v = region.half_minor_m * std::sin(t);
    const double away = std::hypot(x + u * c - v * s, y + u * s + v * c);
    nearest = std::min(nearest, away);
    farthest = std::max(farthest, away);
  }
  const double along = -x * c - y * s, across = x * s - y * c;
  const bool inside = region.half_minor_m > 0.0 &&
                      std::hypot(along / region.half_major_m, across / region.half_minor_m) <= 1.0;
  region.nearest_m = inside ? 0.0 : nearest;
  region.farthest_m = farthest;
}

}  // namespace

void put_uncertainty(works::OffsetEstimate& estimate, const OffsetCovariance& covariance) {
  const double freedom = std::min(covariance.degrees_of_freedom, largest_freedom);
  estimate.x_sigma_m = std::sqrt(covariance.xx);
  estimate.y_sigma_m = std::sqrt(covariance.yy);
  estimate.correlation = covariance.xx > 0.0 && covariance.yy > 0.0
                             ? covariance.xy / std::sqrt(covariance.xx * covariance.yy)
                             : 0.0;
  const double t = stats::student_t_quantile(0.5 * (1.0 + estimate.confidence), freedom);
  estimate.x_low_m = estimate.x_m - t * *estimate.x_sigma_m;
  estimate.x_high_m = estimate.x_m + t * *estimate.x_sigma_m;
  estimate.y_low_m = estimate.y_m - t * *estimate.y_sigma_m;
  estimate.y_high_m = estimate.y_m + t * *estimate.y_sigma_m;

  const double half_sum = 0.5 * (covariance.xx + covariance.yy);
  const double half_gap = std::hypot(0.5 * (covariance.xx - covariance.yy), covariance.xy);
  const double reach =
      std::sqrt(2.0 * stats::f_quantile_of_two(estimate.confidence, covariance.degrees_of_freedom));
  const double major_rad = 0.5 * std::atan2(2.0 * covariance.xy, covariance.xx - covariance.yy);
  works::OffsetRegion region{.half_major_m = reach * std::sqrt(half_sum + half_gap),
                             .half_minor_m = reach * std::sqrt(std::max(half_sum - half_gap, 0.0)),
                             .major_direction_deg = major_rad * 180.0 / std::numbers::pi};
  put_reach(region, estimate.x_m, estimate.y_m, major_rad);
  estimate.region = region;
}

}  // namespace goodside::metal
