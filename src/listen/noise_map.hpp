#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "listen/bands.hpp"
#include "listen/quiet_cells.hpp"
#include "listen/spectral_frame.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct NoiseMapFound {
  std::optional<works::PolarMap> map;
  std::string why;  ///< why there is no map
};

/// The disc's own noise over revolution and angle, in six half-octave bands from 1 to 8 kHz.
/// A place's level is the mean, over its time-frequency cells that are clear of the programme
/// (quiet_cells.hpp) and of faults, of the logarithm of noise over the band's mean, plus the
/// A-weighted level of that mean. Logarithms keep a tick that nobody marked from colouring the map.
/// Shape:    rows of >= 4 revolutions, at most 40, from revolution 0; 24 columns of 15 degrees from
///           angle 0; angle = 360 frac(programme_s rpm/60).
/// Units:    dB; 0 dB is a full-scale sine of the reference at the capture's gain, mean of both
///           channels. Null under 5 % coverage or four clear frames.
/// Source:   own method. Accuracy: docs/listening_measures.md, as measured by the tests.
/// Cost:     up to 2.3 MB; rows come into being where the stylus has been.
class NoiseMap {
 public:
  static constexpr int columns = 24;

  /// `rpm` > 0 of the cut, `programme_duration_s` > 0 of the reference.
  NoiseMap(double rpm, double programme_duration_s);

  /// Frames outside the programme are left out.
  void take(const SpectralFrame& frame);
  void merge(const NoiseMap& later);

  /// `gain_dB`: capture over reference, as in works::Alignment.
  [[nodiscard]] NoiseMapFound finish(double gain_dB) const;

 private:
  static constexpr std::size_t bands_ = 6;
  struct Place {
    std::array<QuietCells, bands_> log_noise;
    std::uint32_t frames{};  // disturbed ones too
  };
  using Row = std::vector<Place>;  // empty until the stylus has been there

  struct WholeSide {
    std::array<std::optional<QuietFloor>, bands_> floor;
    double weighted_power{};
    bool known{};
  };
  struct Level {
    std::optional<double> dB;
    double coverage{};
  };
  [[nodiscard]] WholeSide whole_side() const;
  [[nodiscard]] static Level level_of(const Place& place, const WholeSide& whole);

  double revolutions_per_s_, revolutions_;
  double revolutions_per_row_;
  std::vector<Row> rows_;
  BandPowers powers_;
  double bin_Hz_{};
};

}  // namespace goodside::listen
