#pragma once
#include <array>
#include <complex>
#include <cstdint>
#include <vector>

#include "listen/bands.hpp"
#include "listen/spectral_frame.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct LevelsFound {
  works::Levels levels;
  std::vector<works::Undetermined> undetermined;
};

/// How loud the disc plays what was cut. C, X, Y, R are capture, reference, prediction and residual
/// of a time-frequency cell; only cells with |Y|^2 > 10 |R|^2 in undisturbed frames count.
///     level        L = 10 log10( sum(|C|^2 - |R|^2) / sum|X|^2 ),  a third octave and channel
///     balance      mean over 250 Hz .. 8 kHz of (right - left), at least four bands
///     separation   10 log10( sum|H_ii|^2 / sum|H_ij|^2 ) over the third octaves of 800, 1000 and
///                  1250 Hz; H = <C X*> G^-1, G = <X X*>, less var H_ij = 2 <|R_i|^2> [G^-1]_jj
///     high loss    slope of L (8 .. 12 kHz, both channels) against radius: positive where highs
///                  fall inwards; sigma from the scatter of the rings of 1 mm about it
/// Sigma:    of a band 4.34 sqrt(4 sum|Y|^2|R|^2/n)/sum|Y|^2 over its n bins, the worse channel's; of
///           balance and separation what follows from the residual alone.
/// Source:   own method; bands of IEC 61260-1.
/// Valid:    a residual that is noise independent of the programme. A band is given when it is at
///           least half a bin wide and its statistical error is below 0.15 dB in both channels.
/// Accuracy: docs/listening_measures.md, as measured by the tests.
/// Merging pieces in capture order gives what one piece gives, to rounding.
class LevelMeter {
 public:
  LevelMeter();
  /// `radius_m`: where the groove is at this frame; outside 0 .. 0.2 m it is left out of the high
  /// loss.
  void take(const SpectralFrame& frame, double radius_m);
  void merge(const LevelMeter& later);
  [[nodiscard]] LevelsFound finish() const;

 private:
  struct Cell {
    double capture{}, reference{}, prediction{}, residual{};
  };
  struct Sums {
    double heard{}, cut{}, predicted{}, error{};
    std::uint32_t cells{};
    void take(const Cell& cell, double width_bins);
    void merge(const Sums& later);
    [[nodiscard]] double level_dB() const;
    [[nodiscard]] double sigma_dB() const;
  };
  struct Transfer {  // sums of one third octave near 1 kHz
    std::array<double, 2> cut{}, left_over{};
    std::complex<double> cut_across{};
    std::array<std::array<std::complex<double>, 2>, 2> heard{};  // [capture][reference]
    double bins{};
    void merge(const Transfer& later);
  };

  void take_transfer(const SpectralFrame& frame);
  void find_separation(LevelsFound& found) const;
  void find_high_loss(LevelsFound& found) const;

  std::vector<Band> bands_;  // third octaves, then the high band
  BandPowers powers_;
  double bin_Hz_{};
  std::array<std::vector<Sums>, 2> third_octave_;
  std::array<Transfer, 3> transfer_;
  std::vector<Sums> by_radius_;  // one a millimetre
};

}  // namespace goodside::listen
