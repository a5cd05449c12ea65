#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include "trace/recurring.hpp"

namespace goodside::trace {

/// Recurring places of one radial line, arc or patch: those whose faults their reports put into one
/// pattern, and those on neighbouring turns at one angle (within 4 degrees a turn for lines) that
/// share at least half of their discs. Each list in order of time; lists in order of their first.
[[nodiscard]] std::vector<std::vector<std::size_t>> gather_patterns(
    std::span<const Recurring> recurring,
    const Coincidences& found,
    std::span<const works::HeardPlay> plays);

/// The places as one: a disc has it where any of them is found on it. Each play keeps the find of
/// the place where most discs have one, or else its first; times are laid onto that place.
[[nodiscard]] Candidate joined(std::span<const Candidate> places, Coincidences& found);

}  // namespace goodside::trace
