#pragma once
#include <array>
#include <span>
#include <vector>

#include "signal/aligned.hpp"

namespace goodside::listen {

/// The filter that turns a channel's surface noise into white noise of unit power:
///     u[n] = sum_j taps[j] r[n - j],  order 32, by Levinson's recursion from the median of Hann
///     periodograms
/// (a median passes over ticks), and the noise's power above 1 kHz, the band that faults are
/// weighed in.
struct Whitener {
  std::vector<float> taps;  ///< taps[0] > 0 first
  double noise_power{};     ///< of the residual above 1 kHz, mean square a sample
};

/// `residual`: at least 4096 samples. A silent residual gives a whitener of noise at -140 dB of
/// full scale.
Whitener fit_whitener(const signal::Aligned<float>& residual, double rate_Hz);

/// out[n] for n = 0 .. size-1; samples before the first count as zero.
void whiten(const Whitener& whitener,
            const signal::Aligned<float>& in,
            signal::Aligned<float>& out);

/// Second-order Butterworth high-pass of four signals of one length, forwards: takes rumble and hum from under the
/// faults. Four at once, since each waits on its own last result. Two-pole, -3 dB at the corner. Of one: in place.
void high_pass(const std::array<std::span<const float>, 4>& from,
               double corner_Hz,
               double rate_Hz,
               const std::array<std::span<float>, 4>& to);
void high_pass(std::span<float> samples, double corner_Hz, double rate_Hz);

}  // namespace goodside::listen
