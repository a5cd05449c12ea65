#include "listen/seating.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <vector>

#include "base/expects.hpp"
#include "stats/interval.hpp"

namespace goodside::listen {
namespace {

constexpr double radian_per_deg = std::numbers::pi / 180.0;
// Uniform over a disc of radius R, one component's deviation is R/2; R is half of 0.14 mm (from
// memory).
constexpr double unseen_seating_m = 0.5 * 0.07e-3;

struct Offset {
  double east{}, north{}, weight{};  ///< weight: 1/sigma^2
};

std::vector<Offset> by_seating(std::span<const SeatedOffset> plays) {
  std::map<int, Offset> sums;
  for (const auto& play : plays) {
    EXPECTS(play.sigma_m > 0.0);
    const double weight = 1.0 / (play.sigma_m * play.sigma_m);
    Offset& sum = sums[play.seating];
    sum.east += weight * play.eccentricity_m * std::cos(play.direction_deg * radian_per_deg);
    sum.north += weight * play.eccentricity_m * std::sin(play.direction_deg * radian_per_deg);
    sum.weight += weight;
  }
  std::vector<Offset> all;
  for (const auto& [seating, sum] : sums)
    all.push_back({sum.east / sum.weight, sum.north / sum.weight, sum.weight});
  return all;
}

double distance_squared(const Offset& a, const Offset& b) {
  return (a.east - b.east) * (a.east - b.east) + (a.north - b.north) * (a.north - b.north);
}

}  // namespace

works::HoleOffset hole_of(std::span<const SeatedOffset> plays) {
  works::HoleOffset hole;
  if (plays.empty()) return hole;
  const auto offsets = by_seating(plays);
  const auto k = static_cast<double>(offsets.size());
  hole.seatings = static_cast<int>(offsets.size());
  Offset mean, weighted;
  double measuring = 0.0;  // mean of the seatings' variances
  for (const auto& one : offsets) {
    mean.east += one.east / k;
    mean.north += one.north / k;
    weighted.east += one.weight * one.east;
    weighted.north += one.weight * one.north;
    weighted.weight += one.weight;
    measuring += 1.0 / one.weight / k;
  }
  weighted.east /= weighted.weight;
  weighted.north /= weighted.weight;
  hole.eccentricity_m = std::hypot(mean.east, mean.north);
  double direction_deg = std::atan2(mean.north, mean.east) / radian_per_deg;
  if (direction_deg < 0.0) direction_deg += 360.0;
  hole.eccentricity_direction_deg = direction_deg;
  if (offsets.size() == 1) {
    hole.eccentricity_sigma_m = std::hypot(std::sqrt(measuring), unseen_seating_m);
    return hole;
  }
  double spread = 0.0, chi_squared = 0.0;
  for (const auto& one : offsets) {
    spread += distance_squared(one, mean) / (2.0 * (k - 1.0));
    chi_squared += one.weight * distance_squared(one, weighted);
  }
  hole.eccentricity_sigma_m = std::sqrt(std::max(spread, measuring) / k);
  if (spread > measuring) hole.seating_spread_m = std::sqrt(spread - measuring);
  hole.same_chance = stats::chi_squared_tail(chi_squared, 2.0 * (k - 1.0));
  return hole;
}

}  // namespace goodside::listen
