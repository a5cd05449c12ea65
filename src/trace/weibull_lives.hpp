#pragma once
#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "works/stamper_life.hpp"

namespace goodside::trace {

inline constexpr double never = std::numeric_limits<double>::infinity();

/// One life: it ended above `above` and not above `to`. Equal: it ended just there. `to` = never:
/// it had not ended. above >= 0, to >= above, and to > 0.
struct ObservedLife {
  double above{}, to{never};
  std::optional<std::size_t> cause{};  ///< index of the cause; none: not known
  [[nodiscard]] bool ended() const { return to != never; }
};

/// One cause on its own: hazard accumulated to age t  H(t) = (t / e^log_scale)^(1 / e^log_spread).
struct WeibullLaw {
  double log_scale{}, log_spread{};  ///< spread: 1 / shape
  [[nodiscard]] double accumulated(double age) const;
  [[nodiscard]] double log_hazard(double age) const;
  /// Age at which H is `hazard`.
  [[nodiscard]] double age(double hazard) const;
};

/// Which of a law's figures are fitted: with few ends the shape is held at 1.
struct WeibullFit {
  std::vector<WeibullLaw> laws{};
  std::vector<bool> shape_fitted{};
  double log_likelihood{};
  int evaluations{};
};

/// Log likelihood of lives under independent Weibull causes that compete. With H_j as above and a =
/// above, b = to:
///   still good      - sum_j H_j(a)
///   ended at a by k   log h_k(a) - sum_j H_j(a)
///   in (a, b] by k    - sum_j H_j(a) + log of the integral over (a, b] of
///                     h_k(t) exp(-sum_j [H_j(t) - H_j(a)]) dt
///   cause unknown     the sum over k of the same
/// The integral is taken over the share of cause k's own ends with 20 points drawn to both ends:
/// within 1e-6 of it, measured against an adaptive rule. Source: W. Q. Meeker, L. A. Escobar, Statistical
/// Methods for Reliability Data, Wiley 1998, sections 7.2 and 15.4 (from memory).
[[nodiscard]] double log_likelihood(std::span<const ObservedLife>, std::span<const WeibullLaw>);

/// The laws of `causes` competing causes by maximum likelihood (stats::minimise). A cause with
/// fewer than `ends_for_shape` ends keeps shape 1. Every cause needs an end known to be its own,
/// or the only cause any end.
/// Errors: Fault::bad_input for a cause without ends; Fault::not_converged; and Fault::out_of_range
/// when the ends lie so close together that any greater shape fits as well.
[[nodiscard]] Result<WeibullFit> fit_weibull(std::span<const ObservedLife>,
                                             std::size_t causes,
                                             int ends_for_shape);

enum class WeibullFigure { shape, scale, tenth };
/// A figure of one cause with its bounds from the profile likelihood: all values q for which
///   2 [l(best) - max over the rest l(q, rest)] <= chi2(confidence; 1).
/// A bound is absent where the profile does not fall so far within the range searched: e^10 either
/// way for ages, shapes from 0.05 to 50. Source: Meeker and Escobar, section 8.3.
[[nodiscard]] works::BoundedFigure bounded(std::span<const ObservedLife>,
                                           const WeibullFit&,
                                           std::size_t cause,
                                           WeibullFigure,
                                           double confidence);
/// The age by which `share` of all end by the cause, 0 < share < 1, with bounds made alike: over
/// many shares they draw the law's band.
[[nodiscard]] works::BoundedFigure bounded_age(std::span<const ObservedLife>,
                                               const WeibullFit&,
                                               std::size_t cause,
                                               double share,
                                               double confidence);

}  // namespace goodside::trace
