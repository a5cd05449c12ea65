#pragma once
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/mix_report.hpp"

namespace goodside::compound {

/// How much is wanted; all empty: one charge of the mixer.
struct Wanted {
  std::optional<double> batch_kg;  ///< one charge, dry
  std::optional<double> total_kg;  ///< as many equal charges as the bowl asks for
};

/// The weigh-up sheet of a charge: of the mass wanted, or of  m = rho V_bowl fill  for the mixer.
/// Each target is rounded to the division of the finest scale that takes it at once (else of the
/// largest, in several weighings).
/// Accuracy: exact but for that rounding, which `weighed_sigma_kg` states as division/sqrt(12) each,
///           added in squares.
/// Errors:   Fault::bad_input without a mass and without a mixer; Fault::out_of_range for a batch
///           that the bowl does not hold, with the most that it does.
Result<works::WeighUp> weigh_up(const works::Recipe& recipe, const Wanted& wanted);

/// How a mass is weighed: in one go on the finest scale that takes it.
struct Weighing {
  std::string scale;
  double division_kg{};  ///< 0: no scale was told
  int times{1};
};
[[nodiscard]] Weighing weighing_of(const works::Recipe& recipe, double mass_kg);
/// To the nearest whole number of divisions; as it is for a division of 0.
[[nodiscard]] double rounded_to(double mass_kg, double division_kg);

/// What the scale said against the sheet. An ingredient that was not weighed is still to come.
/// Errors: Fault::bad_input for an ingredient that the recipe has not, one given twice, a mass that is
/// negative or not finite.
Result<std::vector<works::Deviation>> deviations(const works::Recipe& recipe,
                                                 const works::WeighUp& sheet,
                                                 std::span<const works::Weighed> weighed);

}  // namespace goodside::compound
