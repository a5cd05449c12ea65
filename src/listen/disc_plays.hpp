#pragma once
#include <span>

#include "base/result.hpp"
#include "works/disc_plays.hpp"
#include "works/limits.hpp"

namespace goodside::listen {

/// Several plays of one side of one disc, in the order played, taken together: faults matched by
/// programme time (fault_places.hpp), each given to the disc or to dust with its probability
/// (dust.hpp), the hole's offset told from the seating's (seating.hpp), and the verdict on what
/// belongs to the disc: places of probability 1/2 or more, the hole's offset, and noise, levels and
/// speed of the last play. A radial line, a jump's groove or non-fill is no speck: its places begin
/// at 0.95 for the disc, all others at 1/2. `after[i]` is what was done before play i; of the first
/// it counts only as a name. Errors: Fault::bad_input for fewer than two plays, a play without
/// reference or whose cut was not found, or plays of different cuts.
Result<works::DiscPlays> compare_plays(std::span<const works::ListeningReport> plays,
                                       std::span<const works::After> after,
                                       const works::Limits& limits);

}  // namespace goodside::listen
