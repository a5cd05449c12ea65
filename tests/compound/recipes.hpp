#pragma once
#include <optional>
#include <string>
#include <vector>

#include "compound/mixture.hpp"

namespace goodside::compound {

inline works::Ingredient ingredient(const std::string& name,
                                    works::Role role,
                                    double fraction,
                                    double density_g_per_cm3) {
  works::Ingredient one;
  one.name = name;
  one.role = role;
  one.fraction = fraction;
  one.density_kg_per_m3 = 1e3 * density_g_per_cm3;
  return one;
}

/// Published: the analyses of two shellac compounds (nwsoundarchive.co.uk, preservation page;
/// talkingmachine.info forum), densities as in common tables of materials (from memory).
inline works::Recipe analysis_a() {
  using works::Role;
  works::Recipe recipe;
  recipe.name = "analysis A";
  recipe.ingredients = {ingredient("shellac", Role::binder, 0.135, 1.12),
                        ingredient("limestone", Role::filler, 0.375, 2.71),
                        ingredient("slate", Role::filler, 0.375, 2.75),
                        ingredient("pine resin", Role::extender, 0.085, 1.218),
                        ingredient("congo gum", Role::extender, 0.01, 1.06),
                        ingredient("carbon black", Role::colour, 0.015, 1.80),
                        ingredient("zinc stearate", Role::lubricant, 0.005, 1.095)};
  return recipe;
}

inline works::Recipe analysis_b() {
  using works::Role;
  works::Recipe recipe;
  recipe.name = "analysis B";
  recipe.ingredients = {ingredient("shellac", Role::binder, 0.1563, 1.12),
                        ingredient("congo gum", Role::extender, 0.0651, 1.06),
                        ingredient("pine resin", Role::extender, 0.0586, 1.218),
                        ingredient("carbon black", Role::colour, 0.0261, 1.80),
                        ingredient("zinc stearate", Role::lubricant, 0.0032, 1.095),
                        ingredient("limestone", Role::filler, 0.5213, 2.71),
                        ingredient("clay", Role::filler, 0.1303, 2.60),
                        ingredient("cotton flock", Role::fibre, 0.0391, 1.52)};
  return recipe;
}

}  // namespace goodside::compound
