#pragma once
#include <string_view>

#include "base/result.hpp"

namespace goodside::dispatch {

/// How a carton is lifted, as the NIOSH equation asks for it.
struct Lift {
  double reach_m{0.40};          ///< of the hands before the ankles, 0.25 to 0.63
  double from_height_m{0.75};    ///< of the hands at the start, 0 to 1.75
  double travel_m{0.25};         ///< up or down, 0 to 1.75; less than 0.25 counts as 0.25
  double twist_deg{0.0};         ///< of the body, 0 to 135
  double frequency_factor{1.0};  ///< in (0, 1], from the guide's table of lifts a minute
  double coupling_factor{1.0};   ///< in (0, 1]: how well the hands hold it
};

/// The recommended weight limit [kg]:
///   RWL = 23 · (25/H) · (1 - 0.003 |V - 75|) · (0.82 + 4.5/D) · (1 - 0.0032 A) · FM · CM
/// with H, V, D in cm and A in degrees. Source: revised NIOSH lifting equation, Waters et al. 1993 (from
/// memory) [NIOSH1993]. Valid: two-handed, slow, on good floor; not for one hand, seated, hot or slippery work.
/// A screening figure, no permission: local rules and whoever assesses the work come before it.
/// Errors: Fault::out_of_range for a figure outside the ranges above.
Result<double> recommended_weight_kg(const Lift& lift);

/// What stands wherever a carton's mass does.
inline constexpr std::string_view lifting_caution =
    "Caution: lifting injures backs, hands and feet. The limit is a planning figure, not a "
    "permission: assess "
    "the lift, use a truck or two people where in doubt, and follow your local code and your "
    "licensed adviser.";

}  // namespace goodside::dispatch
