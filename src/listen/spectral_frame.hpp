#pragma once
#include <array>
#include <complex>
#include <span>

namespace goodside::listen {

/// One short-time spectrum of everything the bench compares, handed to each measure in order of
/// capture time. All spectra are of Hann-windowed frames of the same samples, bins 0 .. n/2,
/// unnormalised DFT sums. [0] is left, [1] right, in the cut's channel order and polarity; a mono
/// side fills both alike.
struct SpectralFrame {
  double capture_s{};     ///< capture time of the frame's middle
  double programme_s{};   ///< programme time there
  double bin_Hz{};        ///< spacing of the bins
  double hop_s{};         ///< distance to the next frame
  double window_power{};  ///< sum of the squared window, for power densities
  bool disturbed{};       ///< a fault lies in this frame
  std::array<std::span<const std::complex<float>>, 2> capture, reference, prediction, residual;
  // capture:    what the stylus traced                     reference:  the cut, warped in time only
  // prediction: the cut as this player would render it     residual:   capture - prediction
};

}  // namespace goodside::listen
