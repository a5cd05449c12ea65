#pragma once
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "base/result.hpp"
#include "signal/sample_source.hpp"

namespace goodside::signal {

/// Reads a recording at any instants, between its samples too.
///   y(x) = sum_n s[n] h(x - n),  h(u) = c sinc(c u) kaiser(2 u / N),  c = min(1, output rate /
///   source rate),
/// Kaiser window beta 10.06, N = 64 / c taps, its phase stepped in 1024ths of a sample with linear
/// interpolation. Accuracy: error below -95 dB of a tone under 0.44 of the lower rate, measured
/// against closed-form sines. One instance serves one thread; its memory is a window of the source.
class SincReader {
 public:
  /// `output_rate_Hz` > 0 only sets the band; instants are in source frames.
  SincReader(std::unique_ptr<SampleSource> source, double output_rate_Hz);

  [[nodiscard]] int channels() const { return channels_; }

  /// `interleaved[k * channels() + c]` = channel c at source frame `frames[k]`; zero outside the
  /// recording. Instants may go any way; small steps are cheap, far jumps fetch anew. Errors: those
  /// of the source.
  Outcome read(std::span<const double> frames, std::span<float> interleaved);

 private:
  Outcome fetch(std::int64_t first_frame);

  std::unique_ptr<SampleSource> source_;
  int channels_;
  int taps_;                   ///< a multiple of eight
  std::vector<float> phases_;  ///< (phases + 1) rows of taps_
  std::vector<float> kernel_;  ///< the row for one instant
  std::vector<float> interleaved_;
  std::vector<std::vector<float>> window_;  ///< one line a channel
  std::int64_t window_from_{0};
  bool fetched_{false};
};

}  // namespace goodside::signal
