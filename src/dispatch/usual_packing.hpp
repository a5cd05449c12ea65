#pragma once
#include <cstdint>
#include <string_view>

#include "base/result.hpp"
#include "dispatch/carton_fill.hpp"

namespace goodside::dispatch {

/// What is usual for a size of disc where the works has not said otherwise.
struct UsualPacking {
  SleevedDisc disc{};
  std::int64_t count{};  ///< discs to a carton
  double wall_m{0.005};
  double tare_kg{};  ///< of the empty carton
};

/// By diameter and compound. Source: discs' masses, covers and counts are common practice, no source; covers
/// of the 10-inch and thickness of 7-inch and coarse-groove sleeves are from memory. A trade task force of
/// 2022 found no common standard: treat each as the customer's setting. Valid: 7, 10 and 12 inch (within 5 mm
/// of 175, 251 and 301 mm). Errors: Fault::out_of_range for another size.
Result<UsualPacking> usual_packing(double disc_diameter_m, bool shellac_type);

/// Cartons that one person lifts are designed for 12 to 15 kg (common practice, no source); the lower one.
inline constexpr double usual_lifting_limit_kg = 12.0;

}  // namespace goodside::dispatch
