#pragma once
#include <span>
#include <vector>

#include "base/result.hpp"
#include "trace/weibull_lives.hpp"
#include "works/stamper_life.hpp"

namespace goodside::trace {

struct TurnbullCurve {
  std::vector<works::LifeStep> steps;  ///< ages in order, shares above nought, their sum is 1
  double log_likelihood{};
  double gap{};  ///< the greatest log likelihood of any curve is at most so far above
  int iterations{};

  /// Bounds of the share that has ended by `age`: within a step nobody knows where.
  [[nodiscard]] double least_ended(double age) const;
  [[nodiscard]] double most_ended(double age) const;
};

/// The share of lives that end in each stretch of ages, without a law: maximum likelihood over all
/// distributions. Mass can lie only in stretches that begin where some life's does and end where
/// some life's does with none beginning or ending between [Peto 1973]; the shares p_j are those
/// that reproduce themselves [Turnbull 1976],
///   p_j = (1/n) sum_i a_ij p_j / sum_m a_im p_m,   a_ij = stretch j lies in life i,
/// found by iterating this with squared extrapolation [Varadhan and Roland 2008]. It has settled
/// when max_j d_j <= 1 + 1e-7 / n with d_j the mean over i of a_ij / sum_m a_im p_m: the log
/// likelihood, being concave, is then within 1e-7 of its maximum [Gentleman and Geyer 1994].
/// Causes are not looked at. Cost: O(lives + stretches) an iteration.
/// Errors: Fault::bad_input without lives; Fault::not_converged after 100,000 iterations.
/// Validity: the curve is unique in its shares, save where different shares fit alike.
[[nodiscard]] Result<TurnbullCurve> turnbull(std::span<const ObservedLife>);

}  // namespace goodside::trace
