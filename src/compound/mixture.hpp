#pragma once
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/mix_report.hpp"

namespace goodside::compound {

/// A recipe that can be reckoned with.
/// Errors: Fault::bad_input, naming the ingredient and the mend: no ingredient; a name empty or
/// twice; a fraction outside 0..1 or not finite; fractions that miss 1 by more than 5e-4 (closer ones
/// are taken for rounding and scaled to 1); a density outside 500..25000 kg/m3; moisture, tolerance,
/// price, stock or bounds outside what can be; a scale or mixer that cannot be.
Result<works::Recipe> checked(works::Recipe recipe);

/// Density and content by the rule of mixtures:  1/rho = sum_i w_i/rho_i,  phi_i = w_i rho/rho_i.
/// Source:   volumes add; no voids and no reaction. A pressed density above it is a slip of the pen;
///           2-3 % below it is voids or moisture (common practice).
/// Accuracy: exact for the densities given. `fractions` [ingredients], summing to 1.
works::Mixture mixture(const works::Recipe& recipe, std::span<const double> fractions);
works::Mixture mixture(const works::Recipe& recipe);

/// [ingredients]
[[nodiscard]] std::vector<double> fractions_of(const works::Recipe& recipe);
/// Volume a kilogram of the dry mix takes [m3/kg].
[[nodiscard]] double specific_volume_m3_per_kg(const works::Recipe& recipe,
                                               std::span<const double> fractions);
/// As weighed for a dry kilogram: 1/(1 - moisture).
[[nodiscard]] inline double wet_per_dry(const works::Ingredient& one) {
  return 1.0 / (1.0 - one.moisture);
}
[[nodiscard]] inline bool is_binder(works::Role role) {
  return role == works::Role::binder || role == works::Role::extender;
}

/// How far an ingredient may be off, as a share of its target: the works' own word, else common
/// practice without a source: 0.5 % above a tenth of the batch, 1 % above a hundredth, 2 % below. Of
/// what the recipe does not hold, 0.02 % of the batch, as a share of the batch.
[[nodiscard]] double tolerance_share_of_batch(const works::Ingredient& one, double fraction);

/// The order in which ingredients go into the mixer, from 1, by the works' own `charge` or else by
/// common practice: resins first, what melts before what is stirred in, lubricant last; for vinyl the
/// order of US patent 3,960,790. [ingredients]
[[nodiscard]] std::vector<int> charging_order(const works::Recipe& recipe);

/// What can hurt whoever weighs and mixes this recipe, the usual care, and that local codes and
/// licensed practice decide.
[[nodiscard]] std::vector<std::string> cautions(const works::Recipe& recipe);

}  // namespace goodside::compound
