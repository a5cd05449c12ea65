#pragma once
#include <string>

namespace goodside::works {

/// Where in the works somebody stands with a paper in their hand.
enum class Station { silvering, plating, finishing, compound, press, listening, packing };

/// What can hurt there and the usual control, for the foot of a paper: common practice, no source. It ends by deferring
/// to the works' own rules, the local code and licensed practice, which it never replaces.
[[nodiscard]] std::string caution(Station station);

}  // namespace goodside::works
