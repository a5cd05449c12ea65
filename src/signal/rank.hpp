#pragma once
#include <cstddef>
#include <span>

namespace goodside::signal {

/// The value that stands at `rank` (from 0) when `values` are put in order: what
/// std::nth_element would bring there, exactly, but the values stay where they are. Not of nothing.
/// Method: bisection of the floats' bit patterns, which are in the order of what they stand for, until one value is
/// left on a side. Cost: some ten passes over the values, in whole registers, instead of branches that cannot be
/// foreseen. A NaN counts as the highest.
float at_rank(std::span<const float> values, std::size_t rank);

/// The upper median.
inline float median_of(std::span<const float> values) {
  return at_rank(values, values.size() / 2);
}

}  // namespace goodside::signal
