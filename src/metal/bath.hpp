#pragma once
#include "works/plating.hpp"

namespace goodside::metal {

/// What a run takes from the bath and its anodes.
/// - Soluble anodes dissolve  eta_a M Q / (z F); the bath gains what the cathode does not lay.
/// - Insoluble anodes: the deposit is replaced by the first salt that carries metal, deposit / its share.
/// - Drag-out: film x wetted area; each salt by its concentration. `wetted_area_m2` counts both sides of what
///   leaves the bath.
/// - Brightener by charge, as its supplier states it; hydrogen as in deposit.hpp.
/// Charge, area >= 0.
[[nodiscard]] works::BathUpkeep bath_upkeep(const works::PlatingMetal&,
                                            double charge_C,
                                            double wetted_area_m2);

}  // namespace goodside::metal
