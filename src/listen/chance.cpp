#include "listen/chance.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::listen {

double exponential_plus_normal_density(double x, double mean, double sigma) {
  EXPECTS(mean > 0.0 && sigma > 0.0);
  const double ahead = (sigma / mean - x / sigma) / std::numbers::sqrt2;
  const double tail = std::erfc(ahead);
  if (tail <= 0.0) return 0.0;
  const double slope = sigma * sigma / (2.0 * mean * mean) - x / mean;
  return std::exp(slope + std::log(tail)) / (2.0 * mean);
}

double rayleigh_chance(int count, double resultant) {
  EXPECTS(count >= 0 && resultant >= 0.0);
  if (count == 0) return 1.0;
  const double n = count;
  const double z = n * resultant * resultant;
  const double first = (2.0 * z - z * z) / (4.0 * n);
  const double second = z * (24.0 + z * (-132.0 + z * (76.0 - 9.0 * z))) / (288.0 * n * n);
  return std::clamp(std::exp(-z) * (1.0 + first - second), 0.0, 1.0);
}

RayleighTest rayleigh_test(std::span<const double> angles_deg) {
  if (angles_deg.empty()) return {};
  constexpr double radian_per_deg = std::numbers::pi / 180.0;
  double east = 0.0, north = 0.0;
  for (const double angle_deg : angles_deg) {
    east += std::cos(angle_deg * radian_per_deg);
    north += std::sin(angle_deg * radian_per_deg);
  }
  RayleighTest test;
  test.count = static_cast<int>(angles_deg.size());
  test.resultant = std::min(1.0, std::hypot(east, north) / test.count);
  test.direction_deg = std::atan2(north, east) / radian_per_deg;
  if (test.direction_deg < 0.0) test.direction_deg += 360.0;
  test.chance = rayleigh_chance(test.count, test.resultant);
  return test;
}

}  // namespace goodside::listen
