#pragma once
#include <string>

#include "works/disc_plays.hpp"

namespace goodside::cli {

/// Several plays of one disc on a terminal: the verdict on what belongs to the disc, each place
/// play by play and whose it is, hole and seating, and last what to do next. Lines of at most 80
/// columns; colour only where asked for.
[[nodiscard]] std::string plays_summary(const works::DiscPlays&, bool colour);

}  // namespace goodside::cli
