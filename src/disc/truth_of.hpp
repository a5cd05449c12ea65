#pragma once
#include <span>

#include "disc/fault_event.hpp"
#include "disc/played_path.hpp"
#include "works/truth.hpp"

namespace goodside::disc {

/// What the path and the events of one play say, on the recorder's nominal clock.
works::Truth truth_of(const works::PlayedSide& played,
                      const Groove& groove,
                      const PlayedPath& path,
                      std::span<const FaultEvent> events);

}  // namespace goodside::disc
