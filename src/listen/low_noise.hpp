#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "listen/bands.hpp"
#include "listen/quiet_cells.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct LowNoiseFound {
  std::optional<double> rumble_dB, rumble_unweighted_dB, hum_dB;
  std::string rumble_reference, rumble_unweighted_reference, hum_reference;
  std::vector<works::Undetermined> undetermined;
};

/// Rumble and hum from a residual resampled to about 1 kHz. Both are means of the two channels'
/// powers, so lateral and vertical motion count alike; 0 dB is a full-scale sine of the reference
/// at the capture's gain.
///     rumble  10 to 315 Hz, weighted by curve B of IEC 60098 (weighting.hpp), and unweighted, as
///             its curve A is flat there (from memory); third octave by third octave from the 2-s
///             windows clear of the programme (quiet_cells.hpp), bands without enough take their
///             neighbours' density
///     hum     lines of the mains (mains_hum.hpp) in the mean logarithmic spectrum, unweighted, to
///             300 Hz; motor vibration at mains frequency reads as hum
/// Windows:  Hann, the power of two nearest 2 s, half overlap; none reaches over a merge.
/// Source:   as named. Cost: four transforms of 2048 a second of audio; 30 kB.
class LowNoise {
 public:
  /// `rate_Hz`: of the streams, 800 .. 2000 Hz (1000 Hz is meant).
  explicit LowNoise(double rate_Hz);

  /// Residual and prediction, [0] left, [1] right, all four of equal length, any length. Calls
  /// follow each other without a gap within one piece.
  void take(const std::array<std::span<const float>, 2>& residual,
            const std::array<std::span<const float>, 2>& prediction);
  void merge(const LowNoise& later);
  [[nodiscard]] LowNoiseFound finish(double gain_dB) const;

 private:
  void take_window();
  [[nodiscard]] std::optional<double> noise_power(const std::vector<QuietCells>& bands) const;
  void find_rumble(double gain_dB, LowNoiseFound& found) const;
  void find_hum(double gain_dB, LowNoiseFound& found) const;

  double bin_Hz_;
  std::vector<float> window_;
  double window_power_{};
  std::array<std::vector<float>, 4> waiting_;  // residual left, right, prediction left, right
  std::vector<Band> bands_;
  BandPowers powers_;
  std::vector<float> gain_;           // of the rumble weighting, by bin
  std::vector<QuietCells> rumble_;    // weighted powers
  std::vector<QuietCells> plain_;     // the same, unweighted
  std::vector<double> log_spectrum_;  // sum over windows of the logarithm of a bin's mean square
  std::uint32_t windows_{};
};

}  // namespace goodside::listen
