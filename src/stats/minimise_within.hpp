#pragma once
#include <functional>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "stats/minimise.hpp"

namespace goodside::stats {

/// A value to make small, and limits each of which is kept where it is nought or more.
struct Weighed {
  double value{};
  std::vector<double> margins;  ///< as many on every call
};

/// The least value within bounds and limits, without derivatives: linear models on a simplex in a
/// trust region. Scale each margin so that 1 matters. `margins` is their number.
/// Source: M. J. D. Powell, "A direct search optimization method that models the objective and
/// constraint functions by linear interpolation", in Advances in Optimization and Numerical
/// Analysis, Kluwer 1994 (COBYLA). Local; deterministic. The place returned may break a limit by
/// about `tolerance` first steps: look at its margins.
/// Errors: Fault::not_converged where the search fails outright.
[[nodiscard]] Result<Minimum> minimise_within(
    const std::function<Weighed(std::span<const double>)>&,
    const Search&,
    std::size_t margins,
    int most_evaluations);

}  // namespace goodside::stats
