#pragma once
#include <span>

#include "trace/attribute.hpp"

namespace goodside::trace {

/// Whether a fault teaches: it is plainly no chance, and on three discs or more.
[[nodiscard]] bool teaches(const Attribution&);

/// Beliefs moved towards what was found: each share, birth and end is the mean of the Dirichlet or beta
/// posterior in which the starting belief counts for some thirty faults, as one title has few, and each
/// attribution for its probabilities; the laws of hearing are weighed by Bayes.
[[nodiscard]] Beliefs learn(const Beliefs& start, std::span<const Attribution> found);

}  // namespace goodside::trace
