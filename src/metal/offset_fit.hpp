#pragma once
#include <optional>
#include <vector>

#include "base/result.hpp"
#include "works/centring.hpp"

namespace goodside::metal {

struct OffsetQuestion {
  std::vector<works::GrooveReading> readings;
  std::optional<double> reading_sigma_m{};  ///< of one reading, where the instrument's is known
  std::optional<double> radius_m{};         ///< of the groove, for the second-order term
  double inward_per_turn_m{};  ///< of a spiral followed as the angle grows; 0: a closed groove
  double confidence{0.9};
};

/// Where a groove's centre lies from the axis that readings turn about. A circle of radius R with its centre at
/// (x, y), read at angle t, stands at
///   p(t) = c + x cos t + y sin t - (x sin t - y cos t)^2 / (2 R) + a cos 2t + b sin 2t + noise,
/// c any zero; a, b out-of-round, in the model from six different angles on (five settle five unknowns and leave
/// nothing to judge them by; three even readings take it for off-centre). The square term needs R and is 1 um at
/// 0.5 mm and 60 mm. Least squares, over each angle's mean where readings are repeated.
///
/// Bad readings: of three or more repeats the one farthest off the others, then angles by the generalized ESD test
/// (stats/linear_fit.hpp) within the model without and then with out-of-round, each at 1 in 500; from seven angles on,
/// at most a quarter of them, and never so many that the rest cannot judge.
///
/// Uncertainty: Student's t on the scatter about the fit. With repeats and at least three degrees of freedom
/// between angles the means' scatter about the fit counts (it holds what repeats cannot show), with fewer the two are
/// pooled; the rule looks at the plan of the readings, not at their values, so that intervals keep their confidence.
/// With `reading_sigma_m` given, the normal distribution on it, unless the scatter is larger beyond chance (1 in 1000).
/// Covers 90 % by 90 % +- 1.5 % in simulation: tests/metal/offset_cover_test.cpp.
/// Source: [NIST-Handbook] 4.1.4.1, 1.3.5.17.3; circle to second order, own derivation.
/// Errors: Fault::bad_input for fewer than three readings, figures that are not finite or absurd, readings at fewer
/// than three angles, or angles so close together that centre and zero cannot be told apart.
Result<works::OffsetEstimate> fit_offset(const OffsetQuestion& question);

}  // namespace goodside::metal
