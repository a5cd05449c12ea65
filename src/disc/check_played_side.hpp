#pragma once
#include "base/result.hpp"
#include "works/player.hpp"

namespace goodside::disc {

/// Refuses a PlayedSide with figures that nobody can mean; the groove, the path and the faults
/// check their own. Errors: Fault::out_of_range, naming the figure and its range.
Outcome check_played_side(const works::PlayedSide& played);

}  // namespace goodside::disc
