#pragma once
#include <cstddef>
#include <span>
#include <vector>

namespace goodside::listen {

// Psychoacoustic model 1 of ISO/IEC 11172-3 (MPEG-1 audio), Annex D, in the closed form published
// with it: levels in dB SPL, frequencies in Hz, places along the ear's frequency scale in Bark.
// Bark scale, threshold in quiet, tonal masking: as published; noise constants and the limits of
// dz: from memory.

/// z(f) = 13 atan(0.76 f/1 kHz) + 3.5 atan[(f/7.5 kHz)^2].
[[nodiscard]] double bark(double frequency_Hz);

/// Tq(f) = 3.64 (f/1 kHz)^-0.8 - 6.5 exp[-0.6 (f/1 kHz - 3.3)^2] + 1e-3 (f/1 kHz)^4.   f > 0.
[[nodiscard]] double threshold_in_quiet_dB(double frequency_Hz);

/// Spread vf of a masker of `level_dB` to a place `dz` Bark above it, -3 <= dz < 8; minus infinity
/// beyond.
[[nodiscard]] double masking_spread_dB(double level_dB, double dz);

struct Masker {
  double level_dB{};  ///< dB SPL
  double bark{};
  bool tonal{};
};

/// tonal: LT = X - 1.525 - 0.275 z - 4.5 + vf;   noise: LT = X - 1.525 - 0.175 z - 0.5 + vf.
[[nodiscard]] double masking_threshold_dB(const Masker& masker, double dz);

/// How far a fault stands over what the programme and the surface noise hide.
class MaskingModel {
 public:
  /// For spectra of `bins` lines 0, bin_Hz, 2 bin_Hz … Best with bin_Hz of 40-95 (1024 points
  /// at 44.1-96 kHz). `full_scale_dB_SPL`: what a full-scale sine is taken to sound at; the model's
  /// convention is 96.
  MaskingModel(double bin_Hz, std::size_t bins, double full_scale_dB_SPL = 96.0);

  /// Tonal and noise maskers of a spectrum: local maxima 7 dB over their surroundings, and one
  /// noise masker a critical band from what they leave; those under the threshold in quiet are
  /// dropped, and of tonal ones within half a Bark the louder stays.
  [[nodiscard]] std::vector<Masker> maskers(std::span<const double> power) const;

  /// max over critical bands of  fault level in the band - LTg at its middle,
  /// LTg = 10 log10(10^(Tq/10) + sum 10^(LT/10)) [dB]: over 0 the model hears the fault. Bands are
  /// one Bark wide, the middle is the geometric mean of their lines; a pure tone on the edge of two
  /// bands reads up to 3 dB low. Both spectra: `bins` powers >= 0 in units where a full-scale
  /// sine's lines sum to 1, which for Hann-windowed frames of n samples is 32 |X|^2 / (3 n^2),
  /// lines 0 .. n/2. A silent fault gives minus infinity. Simultaneous masking only: what masks
  /// before and after the frame is not modelled, so a margin just over 0 beside a loud passage errs
  /// to the strict side. Cost: tens of microseconds.
  [[nodiscard]] double margin_dB(std::span<const double> masker_power,
                                 std::span<const double> fault_power) const;

 private:
  struct Band {
    std::size_t first, end;    // lines
    double bark, quiet_power;  // at the middle
  };

  double full_scale_power_;
  std::vector<double> bark_, quiet_power_;  // by line
  std::vector<std::size_t> reach_;          // how many lines a tone's surroundings extend
  std::vector<Band> bands_;
};

}  // namespace goodside::listen
