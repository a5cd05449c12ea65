#include "disc/equalised_source.hpp"

#include <algorithm>
#include <utility>

#include "base/expects.hpp"

namespace goodside::disc {
namespace {

constexpr std::int64_t block_frames = 65536;

}  // namespace

EqualisedSource::EqualisedSource(std::unique_ptr<signal::SampleSource> flat, const Curve& curve)
    : flat_{std::move(flat)}, curve_{curve} {
  EXPECTS(flat_ != nullptr);
  for (int c = 0; c < flat_->channels(); ++c)
    filters_.emplace_back(curve_, flat_->sample_rate_Hz());
}

Outcome EqualisedSource::play_block(std::int64_t number) {
  const auto width = static_cast<std::size_t>(channels());
  const auto past = static_cast<std::size_t>(filters_.front().settling_samples());
  const std::int64_t first = number * block_frames;
  const auto count = static_cast<std::size_t>(std::min(block_frames, frames() - first));
  number_ = -1;  // until it is whole
  raw_.resize((past + count) * width);
  played_.resize(count * width);
  if (auto read = flat_->read(first - static_cast<std::int64_t>(past), raw_); !read) return read;
  for (PlaybackFilter& filter : filters_) filter.reset();
  // Channel beside channel: each step of a filter waits for the one before, the other channel's not.
  for (std::size_t k = 0; k < past; ++k)
    for (std::size_t c = 0; c < width; ++c) filters_[c](static_cast<double>(raw_[k * width + c]));
  for (std::size_t k = 0; k < count; ++k)
    for (std::size_t c = 0; c < width; ++c)
      played_[k * width + c] =
          static_cast<float>(filters_[c](static_cast<double>(raw_[(past + k) * width + c])));
  number_ = number;
  return Done{};
}

Outcome EqualisedSource::read(std::int64_t from, std::span<float> interleaved) {
  const auto width = static_cast<std::size_t>(channels());
  const auto end = from + static_cast<std::int64_t>(interleaved.size() / width);
  std::ranges::fill(interleaved, 0.0F);
  for (std::int64_t at = std::max<std::int64_t>(0, from); at < std::min(end, frames());) {
    const std::int64_t number = at / block_frames;
    if (number != number_)
      if (auto played = play_block(number); !played) return played;
    const std::int64_t until = std::min({(number + 1) * block_frames, end, frames()});
    const auto source = played_.begin() + (at - number * block_frames) * channels();
    std::copy(
        source, source + (until - at) * channels(), interleaved.begin() + (at - from) * channels());
    at = until;
  }
  return Done{};
}

Result<std::unique_ptr<signal::SampleSource>> EqualisedSource::again() const {
  auto flat = flat_->again();
  if (!flat) return flat.error();
  return std::unique_ptr<signal::SampleSource>{
      std::make_unique<EqualisedSource>(std::move(*flat), curve_)};
}

}  // namespace goodside::disc
