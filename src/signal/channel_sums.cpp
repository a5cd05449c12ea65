#include "signal/channel_sums.hpp"

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"
#include "signal/clones.hpp"

namespace goodside::signal {
namespace {

constexpr std::size_t lanes =
    8;  // running sums that do not wait on each other: four of each of two channels

struct Lanes {
  float peak[lanes];
  double sum[lanes], squares[lanes];
};

GOODSIDE_CLONES void add_eights(const float* samples, std::size_t eights, Lanes& sums) {
  Lanes own{};
  for (std::size_t j = 0; j < eights; ++j, samples += lanes) {
    for (std::size_t k = 0; k < lanes; ++k) {
      const float magnitude = std::abs(samples[k]);
      own.peak[k] = own.peak[k] > magnitude ? own.peak[k] : magnitude;
    }
    for (std::size_t k = 0; k < lanes; ++k) {
      const auto x = static_cast<double>(samples[k]);
      own.sum[k] += x;
      own.squares[k] += x * x;
    }
  }
  sums = own;
}

}  // namespace

std::array<ChannelSums, 2> sums_of_channels(std::span<const float> interleaved,
                                            std::size_t channels) {
  EXPECTS(channels == 1 || channels == 2);
  const std::size_t eights = interleaved.size() / lanes;
  Lanes by_lane{};
  add_eights(interleaved.data(), eights, by_lane);
  std::array<ChannelSums, 2> all;
  const auto take = [&](std::size_t at, float peak, double sum, double squares) {
    ChannelSums& sums = all[at % channels];
    sums.peak = std::max(sums.peak, peak);
    sums.sum += sum;
    sums.squares += squares;
  };
  for (std::size_t k = 0; k < lanes; ++k)
    take(k, by_lane.peak[k], by_lane.sum[k], by_lane.squares[k]);
  for (std::size_t j = eights * lanes; j < interleaved.size(); ++j) {
    const auto x = static_cast<double>(interleaved[j]);
    take(j, std::abs(interleaved[j]), x, x * x);
  }
  if (channels == 1) all[1] = all[0];
  return all;
}

}  // namespace goodside::signal
