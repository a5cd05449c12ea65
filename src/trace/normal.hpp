#pragma once
#include <cmath>
#include <numbers>

namespace goodside::trace {

/// Density of N(0, sigma^2) at `off`.
[[nodiscard]] inline double normal(double off, double sigma) {
  const double u = off / sigma;
  return std::exp(-0.5 * u * u) / (sigma * std::sqrt(2.0 * std::numbers::pi));
}

}  // namespace goodside::trace
