#pragma once
#include <span>

#include "signal/aligned.hpp"

namespace goodside::signal {

/// The same signal at twice the rate: sample 2 k of `out`, which takes twice the size, is sample k of `in`. What lies
/// beyond the ends counts as silence. Flat to 0.43 of the lower rate (-0.01 dB), its images from 0.57 of it under -70 dB:
/// a half-band filter of 32 taps, Kaiser's window.
void double_rate(std::span<const float> in, Aligned<float>& out);

/// Back to half the rate with the same filter: sample k of `out` lies at sample 2 k of `in`. `in` is of even length,
/// `out` half as long.
void halve_rate(std::span<const float> in, std::span<float> out);

}  // namespace goodside::signal
