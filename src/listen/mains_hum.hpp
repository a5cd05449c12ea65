#pragma once
#include <optional>
#include <span>

namespace goodside::listen {

struct MainsHum {
  double mains_Hz{};     ///< 50 or 60
  double mean_square{};  ///< of all lines found
};

/// Lines of the electric mains in a Hann-windowed mean-square spectrum (bins from 0 Hz, `bin_Hz`
/// apart). A line is a peak within 0.4 % + one bin of m 50 Hz or m 60 Hz, m = 1 .. 5, at least four
/// times the median of the bins 5 .. 12 away on both sides. Its power is that of the peak and two
/// bins on each side, less the median's share. Hum needs the fundamental or two multiples; the
/// stronger family is answered.
/// Source:   own method. Valid: bin_Hz 0.2 .. 1 Hz.
std::optional<MainsHum> mains_hum(std::span<const double> mean_square, double bin_Hz);

}  // namespace goodside::listen
