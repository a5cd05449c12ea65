#pragma once
#include <optional>
#include <string>
#include <vector>

#include "works/centring.hpp"

namespace goodside::metal {

struct GrooveRadius {
  std::string groove;  ///< "outer", "inner"
  double radius_m{};
};

/// What a centring is held against.
struct CentringLimits {
  double offset_m{};   ///< hole to groove spiral
  std::string from{};  ///< where the limit stands
  double rpm{};
  std::vector<GrooveRadius> grooves{};
};

/// From an offset to an answer: within the limit (all of the region is), outside (none of it is), or undecided, and
/// then how many readings would decide it; the move that brings the groove's centre onto the axis, the offset turned
/// round; and the wow of each groove, peak e/r of the speed once a turn, as it lies and after the move, when what is
/// left is the region's greatest half axis.
/// More readings: with n even ones of scatter s, known well, the region's radius is s sqrt(2 F / (n/2)), which must
/// fit between the estimate and the limit; more than 200 are not asked for.
/// Source: [IEC60098] for the limit; dv/v = (e/r) cos t to first order. Valid: e << r.
[[nodiscard]] works::CentringReport judge_centring(works::OffsetEstimate offset,
                                                   const CentringLimits& limits);

}  // namespace goodside::metal
