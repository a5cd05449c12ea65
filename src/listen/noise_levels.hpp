#pragma once
#include <optional>
#include <string>
#include <vector>

#include "listen/bands.hpp"
#include "listen/quiet_cells.hpp"
#include "listen/spectral_frame.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct WeightedNoiseFound {
  std::optional<double> weighted_dB, weighted_468_dB, weighted_k_dB;
  std::string weighted_reference, weighted_468_reference, weighted_k_reference;
  std::vector<works::Undetermined> undetermined;
};

/// Level of the disc's own noise, weighted by A, by 468 and by K: third octave by third octave from
/// the undisturbed time-frequency cells that are clear of the programme (quiet_cells.hpp), mean of
/// both channels, each band by the weighting's mean over it. Bands without enough clear cells take
/// their neighbours' density; at least half of those from 500 Hz to 10 kHz must be known. Bands that
/// begin under 1.5 bins are left out: A and 468 take 20 dB or more there, K some 5 dB.
/// Units:    dB rms; 0 dB is a full-scale sine of 1 kHz of the reference at the capture's gain. The
///           468 figure is an rms too, not the quasi-peak that its recommendation goes on to: that
///           reads 4 to 5 dB more on steady noise (common practice, no source).
/// Source:   weighting.hpp; own method.
/// Accuracy: docs/listening_measures.md, as measured by the tests.
class NoiseLevels {
 public:
  NoiseLevels();
  /// Only frames with the stylus in the groove.
  void take(const SpectralFrame& frame);
  void merge(const NoiseLevels& later);
  [[nodiscard]] WeightedNoiseFound finish(double gain_dB) const;

 private:
  std::vector<Band> bands_;
  BandPowers powers_;
  double bin_Hz_{};
  std::vector<QuietCells> noise_;
};

}  // namespace goodside::listen
