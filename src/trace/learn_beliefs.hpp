#pragma once
#include <span>

#include "trace/attribute.hpp"

namespace goodside::trace {

/// Whether a fault teaches: it is plainly no chance, and on three discs or more.
[[nodiscard]] bool teaches(const Attribution&);

/// Beliefs moved towards what was found: each share, birth, end and detection is the mean of the
/// Dirichlet or beta posterior in which the starting belief counts for a few faults (twelve for
/// levels and births, sixteen for ends, four for detection) and each attribution for its probabilities.
[[nodiscard]] Beliefs learn(const Beliefs& start,
                            std::span<const Attribution> found,
                            std::span<const char> plain);

}  // namespace goodside::trace
