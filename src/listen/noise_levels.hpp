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
  std::optional<double> weighted_dB;
  std::string weighted_reference;
  std::vector<works::Undetermined> undetermined;
};

/// A-weighted level of the disc's own noise: third octave by third octave from the undisturbed
/// time-frequency cells that are clear of the programme (quiet_cells.hpp), mean of both channels.
/// Bands without enough clear cells take their neighbours' density; at least half of those from
/// 500 Hz to 10 kHz must be known. Bands that begin under 1.5 bins are left out: A-weighting takes
/// 20 dB or more there.
/// Units:    dB; 0 dB is a full-scale sine of the reference at the capture's gain.
/// Source:   A-weighting of IEC 61672-1; own method.
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
