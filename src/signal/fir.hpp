#pragma once
#include <cstddef>
#include <span>
#include <vector>

namespace goodside::signal {

/// Symmetric low-pass of 2 half + 1 taps, Kaiser-windowed sinc of unit gain at 0.
/// `cutoff` is the -6 dB frequency as a share of the sample rate, in (0, 0.5).
/// `beta` sets the stop band (7: about -70 dB; 10: -100 dB).
std::vector<float> low_pass_taps(double cutoff, std::size_t half, double beta);

/// out[k] = sum_j taps[j] in[first + k step + j]: the filter slid over `in` in strides of `step`.
/// The caller guarantees first + (out.size() - 1) step + taps.size() <= in.size().
/// Float kernel: fused multiply-add where the CPU has it, same bits on one build and class of CPU.
void slide_filter(std::span<const float> in,
                  std::size_t first,
                  std::size_t step,
                  std::span<const float> taps,
                  std::span<float> out);

/// left[j] = pairs[2 j], right[j] = pairs[2 j + 1]: interleaved stereo into its two channels.
void split_pairs(std::span<const float> pairs, std::span<float> left, std::span<float> right);

/// out[j] = in[j] window[j]
void apply_window(std::span<const float> in, std::span<const float> window, std::span<float> out);

}  // namespace goodside::signal
