#pragma once
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "signal/sample_source.hpp"

namespace goodside::listen {

/// Reads stretches of one recording as two separate channels, low-passed and thinned by a whole
/// factor. Sample k of what comes out lies at sample k factor of the file: no delay. A mono file
/// fills both alike. Pass band to 0.38 of the new rate (-0.1 dB), stop band from 0.52 of it (-70
/// dB).
class PieceReader {
 public:
  /// `sharpness`: taps of the low-pass on each side, a thinned sample.
  PieceReader(std::unique_ptr<signal::SampleSource> source,
              std::size_t factor,
              std::size_t sharpness = 16);

  [[nodiscard]] double rate_Hz() const { return rate_Hz_; }
  [[nodiscard]] std::int64_t frames() const { return frames_; }

  /// Fills both spans (of one length) from thinned sample `from`; zeros outside the recording.
  Outcome read(std::int64_t from, std::span<float> left, std::span<float> right);

  /// The same of the channels' mean.
  Outcome read_mean(std::int64_t from, std::span<float> mean);

 private:
  /// Frames of the file that `count` thinned samples from `from` on are made of.
  Outcome fetch(std::int64_t from, std::size_t count);

  std::unique_ptr<signal::SampleSource> source_;
  std::size_t factor_;
  double rate_Hz_;
  std::int64_t frames_;
  std::vector<float> taps_, interleaved_, left_, right_;
};

/// The factor that brings a rate down to between 22.05 and 44.1 kHz: enough to time the groove by.
std::size_t timing_factor(double rate_Hz);
/// The factor that brings a rate down to at most 48 kHz: nothing audible is lost.
std::size_t listening_factor(double rate_Hz);

}  // namespace goodside::listen
