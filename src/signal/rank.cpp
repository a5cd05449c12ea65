#include "signal/rank.hpp"

#include <algorithm>
#include <bit>
#include <cstdint>
#include <limits>

#include "base/expects.hpp"
#include "signal/clones.hpp"

namespace goodside::signal {
namespace {

constexpr std::int32_t highest = std::numeric_limits<std::int32_t>::max();

/// Bit patterns between which values lie.
struct Bits {
  std::int32_t low, high;
};

GOODSIDE_CLONES Bits range_of(const float* values, std::size_t count) {
  std::int32_t low = highest;
  std::int32_t high = 0;
#pragma omp simd reduction(min : low) reduction(max : high)
  for (std::size_t j = 0; j < count; ++j) {
    const auto bits = std::bit_cast<std::int32_t>(values[j]);
    low = low < bits ? low : bits;
    high = high > bits ? high : bits;
  }
  return {low, high};
}

GOODSIDE_CLONES std::int32_t count_up_to(const float* values,
                                         std::size_t count,
                                         std::int32_t bits) {
  std::int32_t found = 0;
#pragma omp simd reduction(+ : found)
  for (std::size_t j = 0; j < count; ++j)
    found += std::bit_cast<std::int32_t>(values[j]) <= bits ? 1 : 0;
  return found;
}

/// The highest value up to `split`, and the lowest beyond it.
GOODSIDE_CLONES Bits around(const float* values, std::size_t count, std::int32_t split) {
  std::int32_t below = 0;
  std::int32_t above = highest;
#pragma omp simd reduction(max : below) reduction(min : above)
  for (std::size_t j = 0; j < count; ++j) {
    const auto bits = std::bit_cast<std::int32_t>(values[j]);
    const std::int32_t under = bits <= split ? bits : 0;
    const std::int32_t over = bits <= split ? highest : bits;
    below = below > under ? below : under;
    above = above < over ? above : over;
  }
  return {below, above};
}

}  // namespace

float at_rank(std::span<const float> values, std::size_t rank) {
  EXPECTS(rank < values.size() && values.size() < static_cast<std::size_t>(highest));
  const auto wanted = static_cast<std::int32_t>(rank);
  auto [low, high] = range_of(values.data(), values.size());
  while (low < high) {
    const std::int32_t middle = low + (high - low) / 2;
    const std::int32_t found = count_up_to(values.data(), values.size(), middle);
    if (found == wanted + 1)
      return std::bit_cast<float>(around(values.data(), values.size(), middle).low);
    if (found == wanted)
      return std::bit_cast<float>(around(values.data(), values.size(), middle).high);
    if (found > wanted)
      high = middle;
    else
      low = middle + 1;
  }
  return std::bit_cast<float>(low);
}

}  // namespace goodside::signal
