#include "metal/bath.hpp"

#include <algorithm>

#include "metal/deposit.hpp"

namespace goodside::metal {

works::BathUpkeep bath_upkeep(const works::PlatingMetal& metal,
                              double charge_C,
                              double wetted_area_m2) {
  const double full_kg = equivalent_kg_per_C(metal) * charge_C;
  const double laid_kg = metal.cathode_efficiency * full_kg;
  works::BathUpkeep upkeep{.drag_out_m3 = metal.drag_out_film_m * wetted_area_m2,
                           .brightener_m3 = metal.brightener_m3_per_C * charge_C,
                           .hydrogen_m3 = hydrogen_m3(metal, charge_C),
                           .used = {}};
  if (metal.soluble_anode) upkeep.anode_dissolved_kg = metal.anode_efficiency * full_kg;
  upkeep.metal_gained_kg = upkeep.anode_dissolved_kg - laid_kg;
  bool replaced = metal.soluble_anode;
  for (const auto& salt : metal.salts) {
    double used_kg = salt.concentration_kg_per_m3 * upkeep.drag_out_m3;
    if (!replaced && salt.metal_share > 0.0) {
      used_kg += laid_kg / salt.metal_share;
      replaced = true;
    }
    upkeep.used.push_back({salt.name, used_kg});
  }
  return upkeep;
}

}  // namespace goodside::metal
