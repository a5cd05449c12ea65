#pragma once
#include <array>
#include <cstddef>
#include <span>

namespace goodside::signal {

/// What the samples of one channel add up to; a NaN or an infinity among them shows in the squares.
struct ChannelSums {
  float peak{};  ///< largest magnitude
  double sum{}, squares{};
};

/// Of one or two interleaved channels; of one, both tell the same.
std::array<ChannelSums, 2> sums_of_channels(std::span<const float> interleaved,
                                            std::size_t channels);

}  // namespace goodside::signal
