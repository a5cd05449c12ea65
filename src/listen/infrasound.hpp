#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "works/listening_report.hpp"

namespace goodside::listen {

struct InfrasoundFound {
  std::optional<works::HeardWarp> warp;
  std::vector<works::Undetermined> undetermined;
};

/// What a warped disc leaves below the music: lines of the vertical channel, (left - right)/2, at
/// the turn and its multiples to 8 Hz, out of Hann windows of eight turns, half overlapped.
///     line k      power within 2 bins of k turn_Hz less that of as many bins 3 .. 4 off, where it
///                 stands 6 dB over these; medians over the windows, so that pops have no say
///     harmonics   sum of lines 2, 3, ... 8 Hz
/// 0 dB is a full-scale sine of the reference at the capture's gain; playback curve and arm are in
/// the figure. A height is not told: below its resonance f0 the arm follows the disc and the pickup
/// gives 2 pi f z (f/f0)^2 (second-order high-pass), so f0 and the cartridge's sensitivity would have
/// to be known.
/// A capture was high-passed when its density from 5 to 8 Hz lies 20 dB under that from 15 to 30 Hz:
/// an arm's 12 dB an octave below 8 .. 12 Hz makes 5 to 10 dB of that. Nothing is told then.
/// Source:   own method. Cost: 1 ns a frame of the capture; memory 400 bytes a second of it.
class Infrasound {
 public:
  /// `rate_Hz`: of the stream, 70 .. 200 Hz.
  explicit Infrasound(double rate_Hz);

  /// Stretches of the vertical channel on one grid of the whole capture, in order; `first` is the
  /// grid index of the first sample.
  void take(std::int64_t first, std::span<const float> vertical);
  void merge(const Infrasound& later);

  /// `turn_Hz`: turns a second of capture time; nothing is told outside 0.2 .. 3.
  [[nodiscard]] InfrasoundFound finish(double turn_Hz, double gain_dB) const;

 private:
  struct Part {
    std::int64_t first{};
    std::vector<float> vertical;
  };
  void append(std::int64_t first, std::span<const float> vertical);

  double rate_Hz_;
  std::vector<Part> parts_;
};

}  // namespace goodside::listen
