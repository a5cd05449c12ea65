#include "press/judge.hpp"

#include <cmath>
#include <numbers>

namespace goodside::press {
namespace {

constexpr double scale_m = 1e-3, scale_K = 5.0;
constexpr double rounding_m = 1e-9;

}  // namespace

std::array<double, margin_count> Margins::scaled(const CycleSetup& setup) const {
  return {of(Margin::radius) / scale_m,
          of(Margin::thickness) / setup.disc.thickness_tolerance_m,
          of(Margin::flow) / scale_K,
          of(Margin::overheat) / scale_K,
          of(Margin::set) / scale_K,
          of(Margin::dish) / setup.limits.dish_m};
}

Margins margins_of(const CycleSetup& setup, const CycleResult& cycle) {
  const double volume = setup.biscuit.mass_kg / setup.compound.density_kg_per_m3;
  const double reach = std::sqrt(volume / (std::numbers::pi * cycle.final_gap_m));
  return {{reach - 0.5 * setup.disc.diameter_m + rounding_m,
           setup.disc.thickness_tolerance_m - std::abs(cycle.final_gap_m - setup.disc.thickness_m) +
               rounding_m,
           cycle.least_flow_K - setup.compound.flow_temperature_K - setup.limits.flow_margin_K,
           setup.compound.overheated_K - cycle.peak_K,
           setup.compound.set_temperature_K - setup.limits.set_margin_K - cycle.opening_hottest_K,
           setup.limits.dish_m - std::abs(cycle.dish_m)}};
}

Standing standing_of(const Margins& margins) {
  if (margins.of(Margin::radius) < 0.0) return Standing::short_fill;
  if (margins.of(Margin::thickness) < 0.0) return Standing::thick;
  if (margins.of(Margin::flow) < 0.0) return Standing::cold;
  if (margins.of(Margin::overheat) < 0.0) return Standing::overheated;
  if (margins.of(Margin::set) < 0.0) return Standing::unset;
  return margins.of(Margin::dish) < 0.0 ? Standing::dishes : Standing::works;
}

std::string_view word(Standing standing) {
  switch (standing) {
    case Standing::works:
      return "works";
    case Standing::short_fill:
      return "short fill";
    case Standing::thick:
      return "out of thickness";
    case Standing::cold:
      return "groove not filled";
    case Standing::overheated:
      return "overheated";
    case Standing::unset:
      return "not set";
    case Standing::dishes:
      return "dishes";
  }
  return {};
}

}  // namespace goodside::press
