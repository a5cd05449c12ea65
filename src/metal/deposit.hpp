#pragma once
#include "base/result.hpp"
#include "works/plating.hpp"

namespace goodside::metal {

/// [CODATA2018], exact by the definition of the SI.
inline constexpr double faraday_C_per_mol = 96485.33212;
inline constexpr double gas_constant_J_per_mol_K = 8.314462618;

/// Mass laid per charge at full efficiency [kg/C]:  M / (z F).  Source: [Faraday1834].
[[nodiscard]] double equivalent_kg_per_C(const works::PlatingMetal&);

/// What a charge lays on an area.
struct Deposit {
  double mass_kg{}, thickness_m{};
};

/// m = eta M Q / (z F),  h = m / (rho A).  Source: [Faraday1834]. Valid for one reaction at a fixed
/// efficiency and fully dense metal; as good as the efficiency is known. `charge_C` >= 0, `area_m2` > 0 (EXPECTS).
[[nodiscard]] Deposit deposit(const works::PlatingMetal&, double charge_C, double area_m2);

/// The charge that lays a mean thickness >= 0 on an area [C].
[[nodiscard]] double charge_for_C(const works::PlatingMetal&, double thickness_m, double area_m2);

/// Hydrogen from the charge that lays no metal [m3] at 25 degC and 101325 Pa: two electrons a molecule, an
/// ideal gas. An upper bound: some of it may go into other reactions.
[[nodiscard]] double hydrogen_m3(const works::PlatingMetal&, double charge_C);

/// Whether the figures of a metal can be meant. Errors: Fault::out_of_range naming metal, figure and the mend.
[[nodiscard]] Outcome check(const works::PlatingMetal&);

}  // namespace goodside::metal
