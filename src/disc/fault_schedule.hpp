#pragma once
#include <vector>

#include "base/result.hpp"
#include "disc/fault_event.hpp"
#include "disc/played_path.hpp"

namespace goodside::disc {

/// Every planned fault spread over its places on the groove (one, one a turn, or a scatter) and
/// over the times that the stylus passes there, in order of the time at which each begins; the
/// seams of jumps among them, each with a small tick. A place keeps its sound each time it passes.
/// What a plan leaves open takes the usual of its kind, sizes such as listeners meet (common
/// practice, no source). Errors: Fault::out_of_range for a place outside the programme or figures
/// beyond 1000 turns, 10000 specks, 60 s, 360 degrees, 120 dB.
Result<std::vector<FaultEvent>> fault_schedule(const works::PlayedSide& played,
                                               const Groove& groove,
                                               const PlayedPath& path);

}  // namespace goodside::disc
