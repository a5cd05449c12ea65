#pragma once
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "disc/playback_filter.hpp"
#include "signal/sample_source.hpp"

namespace goodside::disc {

/// A recording that was made without playback equalisation, read through a playback curve
/// (playback_filter.hpp). A sample's value depends on its place alone: the filter runs over blocks of
/// a fixed grid, each from a past long enough to have settled, so that reading anywhere, in any
/// order and on any number of threads gives the same bits. Errors: those of the source.
class EqualisedSource final : public signal::SampleSource {
 public:
  EqualisedSource(std::unique_ptr<signal::SampleSource> flat, const Curve& curve);

  [[nodiscard]] double sample_rate_Hz() const override { return flat_->sample_rate_Hz(); }
  [[nodiscard]] int channels() const override { return flat_->channels(); }
  [[nodiscard]] std::int64_t frames() const override { return flat_->frames(); }
  Outcome read(std::int64_t from, std::span<float> interleaved) override;
  [[nodiscard]] Result<std::unique_ptr<signal::SampleSource>> again() const override;

 private:
  Outcome play_block(std::int64_t number);

  std::unique_ptr<signal::SampleSource> flat_;
  Curve curve_;
  std::vector<PlaybackFilter> filters_;  ///< one a channel
  std::vector<float> raw_, played_;      ///< a block with its past; the block
  std::int64_t number_{-1};              ///< of the block in `played_`
};

}  // namespace goodside::disc
