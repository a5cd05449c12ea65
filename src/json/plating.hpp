#pragma once
#include <string>

#include "works/plating.hpp"

namespace goodside::json {

/// A plating run as text, `"schema": "goodside.plate/1"`:
///   part|null; metal {name, molar_mass_kg_per_mol, density_kg_per_m3, electrons_per_ion, cathode_efficiency, conductivity_S_per_m,
///     source}; face: "bare"|"silvered"|"passivated"; area_m2; disc_radius_m
///   stages [{from_A, to_A, time_s}]; time_s; charge_C; mass_kg; mean_thickness_m; target_m|null; target_time_s|null
///   upkeep {anode_dissolved_kg, metal_gained_kg, drag_out_m3, brightener_m3, hydrogen_m3, used [{what, mass_kg}]}
///   spread|null, before|null {cell {…}, kinetics {law, …}, radius_m [], thickness_m [], band {inner_radius_m, outer_radius_m,
///     least_m, least_radius_m, most_m, most_radius_m, mean_m, evenness}, voltage_V, ohmic_resistance_ohm, wagner, charge_balance, unknowns}
///   wanted_evenness|null; cells_tried
///   stress|null {stress_Pa, from, curvature_per_m, bow_m|null, base_thickness_m|null, bow_word}
///   warnings []; cautions []
/// The potential's section is not written: the picture shows it. Equal contents give equal bytes.
std::string write(const works::PlatingReport&);

}  // namespace goodside::json
