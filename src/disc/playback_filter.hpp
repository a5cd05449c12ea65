#pragma once
#include "disc/equalisation.hpp"
#include "disc/filter.hpp"

namespace goodside::disc {

/// A playback curve as a digital filter of one channel, unit gain at 1 kHz.
/// Method:   each corner below the treble becomes exp(-1/(rate T)), a zero or a pole; the treble's
///           pole gets a fixed one at -0.4 and two zeros beside it, fitted by least squares so that
///           |H|^2 is that of the analogue curve from 20 Hz to 20 kHz (or 0.47 rate). Minimum phase.
///           A turnover without a bass shelf gets one at 5 Hz, as nothing can be played at 0 Hz.
/// Accuracy: 0.04 dB from 20 Hz to 20 kHz at 44.1 kHz and above, 0.1 dB below that rate (the shelf at
///           5 Hz takes 0.26 dB at 20 Hz), as measured by the tests.
class PlaybackFilter {
 public:
  /// `rate_Hz` >= 8000.
  PlaybackFilter(const Curve& curve, double rate_Hz);

  double operator()(double sample) { return treble_(bass_(sample)); }
  void reset();
  /// Samples after which a past of full scale is below -156 dB.
  [[nodiscard]] int settling_samples() const { return settling_; }

 private:
  Biquad bass_, treble_;
  int settling_{};
};

}  // namespace goodside::disc
