#include "signal/rank.hpp"

#include <algorithm>
#include <bit>
#include <cstdint>
#include <limits>

#include "base/expects.hpp"
#include "signal/clones.hpp"

namespace goodside::signal {
namespace {

constexpr float infinite = std::numeric_limits<float>::infinity();

/// An integer in the order of the floats, and the float again.
std::int64_t key_of(float value) {
  const auto bits = std::bit_cast<std::int32_t>(value);
  return bits < 0 ? -static_cast<std::int64_t>(bits & 0x7fffffff) : bits;
}

float value_of(std::int64_t key) {
  const auto magnitude = std::bit_cast<float>(static_cast<std::int32_t>(key < 0 ? -key : key));
  return key < 0 ? -magnitude : magnitude;
}

struct Pair {
  float low, high;
};

GOODSIDE_CLONES Pair range_of(const float* values, std::size_t count) {
  float low = infinite;
  float high = -infinite;
#pragma omp simd reduction(min : low) reduction(max : high)
  for (std::size_t j = 0; j < count; ++j) {
    low = values[j] < low ? values[j] : low;
    high = values[j] > high ? values[j] : high;
  }
  return {low, high};
}

GOODSIDE_CLONES std::int32_t count_up_to(const float* values, std::size_t count, float split) {
  std::int32_t found = 0;
#pragma omp simd reduction(+ : found)
  for (std::size_t j = 0; j < count; ++j) found += values[j] <= split ? 1 : 0;
  return found;
}

/// The highest value up to `split`, and the lowest beyond it.
GOODSIDE_CLONES Pair around(const float* values, std::size_t count, float split) {
  float below = -infinite;
  float above = infinite;
#pragma omp simd reduction(max : below) reduction(min : above)
  for (std::size_t j = 0; j < count; ++j) {
    const float under = values[j] <= split ? values[j] : -infinite;
    const float over = values[j] > split ? values[j] : infinite;
    below = under > below ? under : below;
    above = over < above ? over : above;
  }
  return {below, above};
}

}  // namespace

float at_rank(std::span<const float> values, std::size_t rank) {
  EXPECTS(rank < values.size() &&
          values.size() < static_cast<std::size_t>(std::numeric_limits<std::int32_t>::max()));
  const auto wanted = static_cast<std::int32_t>(rank);
  const Pair range = range_of(values.data(), values.size());
  std::int64_t low = key_of(range.low);
  std::int64_t high = key_of(range.high);
  while (low < high) {
    const std::int64_t middle = low + (high - low) / 2;
    const float split = value_of(middle);
    const std::int32_t found = count_up_to(values.data(), values.size(), split);
    if (found == wanted + 1) return around(values.data(), values.size(), split).low;
    if (found == wanted) return around(values.data(), values.size(), split).high;
    if (found > wanted)
      high = middle;
    else
      low = middle + 1;
  }
  return value_of(low);
}

}  // namespace goodside::signal
