#pragma once
#include <functional>
#include <span>
#include <vector>

#include "base/result.hpp"

namespace goodside::stats {

struct Minimum {
  std::vector<double> at;
  double value{};
  int evaluations{};
};

/// Where to look, one entry a coordinate.
struct Search {
  std::vector<double> start, first_step, low, high;
  double tolerance{1e-9};  ///< on each coordinate, as a share of its first step
  bool once{};             ///< not begun again: for a search that starts beside the minimum
};

/// The minimum of a smooth function within bounds, without derivatives: quadratic models in a trust
/// region, begun again from where they end until the value falls no further than 1e-13 of itself.
/// Source: M. J. D. Powell, "The BOBYQA algorithm for bound constrained optimization without
/// derivatives", report NA2009/06, Cambridge 2009. The function must be finite within the bounds.
/// Accuracy: near the minimum a function tells its place to sqrt(epsilon) of the scale on which it
/// changes by one; 1e-7 measured on quadratics. Deterministic.
/// Errors: Fault::not_converged after 20,000 evaluations.
[[nodiscard]] Result<Minimum> minimise(const std::function<double(std::span<const double>)>&,
                                       const Search&);

/// Where a continuous function whose values at `low` and `high` differ in sign is nought, to 2^-bits
/// of the place. Source: G. E. Alefeld, F. A. Potra, Y. Shi, ACM Trans. Math. Software 21, 1995, algorithm
/// 748. Errors: Fault::not_converged when the signs agree.
[[nodiscard]] Result<double> root(const std::function<double(double)>&,
                                  double low,
                                  double high,
                                  int bits = 40);

}  // namespace goodside::stats
