#pragma once
#include <span>
#include <vector>

#include "listen/fault_areas.hpp"
#include "listen/radial_lines.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct PatternSearch {
  double rpm{};  ///< of the cut, > 0
  RadialSearch radial{};
  AreaSearch area{};
  int first_id{1};
};

/// Gathers faults into patterns (radial, arc, patch, scatter) and writes each one's id into
/// `fault.pattern`. Angle and revolution are taken from `programme_s` and rpm, as the contract
/// defines them. Left alone: faults without programme_s, jumps and repeats, and faults that already
/// have a pattern. Bursts never make a radial line: a scratch crosses the groove in a tick, while
/// the edge of a noisy place recurs at one angle too. `heard` in programme seconds; empty: from the
/// first fault to the last. Patterns come in order of their first revolution; a fault belongs to
/// one at most. Chance: see radial_lines.hpp and fault_areas.hpp; each search keeps its expected
/// false patterns a side under 0.05 when independent events fall at a rate that changes slowly over
/// the disc. Cost: 100 000 faults take under a second.
[[nodiscard]] std::vector<works::Pattern> find_patterns(std::span<works::FaultEvent> faults,
                                                        std::span<const works::Interval_s> heard,
                                                        const PatternSearch& search);

}  // namespace goodside::listen
