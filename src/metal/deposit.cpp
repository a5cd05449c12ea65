#include "metal/deposit.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "base/expects.hpp"
#include "metal/bounds.hpp"

namespace goodside::metal {
double equivalent_kg_per_C(const works::PlatingMetal& metal) {
  return metal.molar_mass_kg_per_mol / (metal.electrons_per_ion * faraday_C_per_mol);
}

Deposit deposit(const works::PlatingMetal& metal, double charge_C, double area_m2) {
  EXPECTS(charge_C >= 0.0 && area_m2 > 0.0);
  const double mass_kg = metal.cathode_efficiency * equivalent_kg_per_C(metal) * charge_C;
  return {mass_kg, mass_kg / (metal.density_kg_per_m3 * area_m2)};
}

double charge_for_C(const works::PlatingMetal& metal, double thickness_m, double area_m2) {
  EXPECTS(thickness_m >= 0.0 && area_m2 > 0.0);
  return thickness_m * area_m2 * metal.density_kg_per_m3 /
         (metal.cathode_efficiency * equivalent_kg_per_C(metal));
}

double hydrogen_m3(const works::PlatingMetal& metal, double charge_C) {
  constexpr double molar_volume_m3 = gas_constant_J_per_mol_K * 298.15 / 101325.0;
  return (1.0 - metal.cathode_efficiency) * charge_C / (2.0 * faraday_C_per_mol) * molar_volume_m3;
}

Outcome check(const works::PlatingMetal& metal) {
  const std::array bounds{
      Bounds{"molar mass in kg/mol", metal.molar_mass_kg_per_mol, 1e-3, 0.3},
      Bounds{"density in kg/m3", metal.density_kg_per_m3, 500.0, 23000.0},
      Bounds{"electrons of an ion", static_cast<double>(metal.electrons_per_ion), 1.0, 8.0},
      Bounds{"cathode efficiency", metal.cathode_efficiency, 1e-3, 1.0},
      Bounds{"current density in A/m2", metal.current_density_A_per_m2, 0.1, 1e5},
      Bounds{"lowest current density in A/m2", metal.low_A_per_m2, 0.0, metal.high_A_per_m2},
      Bounds{"highest current density in A/m2", metal.high_A_per_m2, 0.1, 1e5},
      Bounds{"usual thickness in m", metal.usual_thickness_m, 1e-9, 0.01},
      Bounds{"conductivity in S/m", metal.conductivity_S_per_m, 1e-3, 1e3},
      Bounds{"Tafel slope in V a decade", metal.tafel_slope_V_per_decade, 1e-3, 2.0},
      Bounds{
          "exchange current density in A/m2", metal.exchange_current_density_A_per_m2, 1e-9, 1e5},
      Bounds{"anode efficiency", metal.anode_efficiency, 0.0, 1.2},
      Bounds{"drag-out film in m", metal.drag_out_film_m, 0.0, 0.01},
      Bounds{"brightener in m3/C", metal.brightener_m3_per_C, 0.0, 1e-6},
      Bounds{"elastic modulus in Pa", metal.elastic_modulus_Pa, 1e9, 1e12},
      Bounds{"Poisson's ratio", metal.poisson_ratio, 0.0, 0.49}};
  if (const auto fit = within(metal.name + ": ", bounds); !fit) return fit;
  for (const auto& salt : metal.salts)
    if (!(salt.concentration_kg_per_m3 >= 0.0 && salt.concentration_kg_per_m3 <= 2000.0) ||
        !(salt.metal_share >= 0.0 && salt.metal_share <= 1.0))
      return Error{
          Fault::out_of_range,
          fmt::format("{}: salt \"{}\" cannot be; give 0 to 2000 g/L and a metal share from 0 to 1",
                      metal.name,
                      salt.name)};
  return Done{};
}

}  // namespace goodside::metal
