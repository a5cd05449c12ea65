#pragma once
#include <optional>
#include <span>

#include "works/control_chart.hpp"

namespace goodside::plan {

/// What capability is judged from: single values, and the chart's own sigma with the degrees of
/// freedom behind it.
struct CapabilityInput {
  std::span<const double> values{};
  double mean{}, sigma{}, degrees_of_freedom{};
  std::optional<double> low{}, high{};  ///< specification; at least one
  double confidence{0.95};
};
/// See control_chart.hpp for the equations. Two values or more, sigma > 0.
[[nodiscard]] works::Capability capability(const CapabilityInput&);

/// Degrees of freedom of a mean moving range of n values: those of the chi distribution that has its
/// relative variance, nearly 1/(2 nu), from the exact
///   Var = [(n - 1)(2 - 4/pi) + 2 (n - 2) C] sigma^2/(n - 1)^2,  C the covariance of neighbours.
[[nodiscard]] double moving_range_freedom(int n);
/// Of `samples` ranges of n values: the chi distribution of equal relative variance.
[[nodiscard]] double range_freedom(int samples, int n);

}  // namespace goodside::plan
