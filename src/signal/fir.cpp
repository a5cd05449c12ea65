#include "signal/fir.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"
#include "signal/clones.hpp"
#include "signal/window.hpp"

namespace goodside::signal {
namespace {

// Four outputs at a time share the taps and do not wait on each other's sums.
GOODSIDE_CLONES void slide_in_steps(const float* in,
                                    std::size_t step,
                                    const float* taps,
                                    std::size_t tap_count,
                                    float* out,
                                    std::size_t count) {
  std::size_t k = 0;
  for (; k + 4 <= count; k += 4) {
    const float* a = in + k * step;
    const float* b = a + step;
    const float* c = b + step;
    const float* d = c + step;
    float sum_a = 0.0F;
    float sum_b = 0.0F;
    float sum_c = 0.0F;
    float sum_d = 0.0F;
#pragma omp simd reduction(+ : sum_a, sum_b, sum_c, sum_d)
    for (std::size_t j = 0; j < tap_count; ++j) {
      sum_a += taps[j] * a[j];
      sum_b += taps[j] * b[j];
      sum_c += taps[j] * c[j];
      sum_d += taps[j] * d[j];
    }
    out[k] = sum_a;
    out[k + 1] = sum_b;
    out[k + 2] = sum_c;
    out[k + 3] = sum_d;
  }
  for (; k < count; ++k) {
    const float* from = in + k * step;
    float sum = 0.0F;
#pragma omp simd reduction(+ : sum)
    for (std::size_t j = 0; j < tap_count; ++j) sum += taps[j] * from[j];
    out[k] = sum;
  }
}

// Step 1: the taps run outside, so that the inner loop is as wide as the block.
GOODSIDE_CLONES void slide_every(
    const float* in, const float* taps, std::size_t tap_count, float* out, std::size_t count) {
  constexpr std::size_t block = 256;
  for (std::size_t from = 0; from < count; from += block) {
    const std::size_t width = count - from < block ? count - from : block;
    float sums[block] = {};
    for (std::size_t j = 0; j < tap_count; ++j) {
      const float tap = taps[j];
      const float* shifted = in + from + j;
#pragma omp simd
      for (std::size_t k = 0; k < width; ++k) sums[k] += tap * shifted[k];
    }
    for (std::size_t k = 0; k < width; ++k) out[from + k] = sums[k];
  }
}

GOODSIDE_CLONES void split(const float* pairs, std::size_t count, float* left, float* right) {
#pragma omp simd
  for (std::size_t j = 0; j < count; ++j) {
    left[j] = pairs[2 * j];
    right[j] = pairs[2 * j + 1];
  }
}

GOODSIDE_CLONES void multiply(const float* a, const float* b, float* out, std::size_t count) {
#pragma omp simd
  for (std::size_t j = 0; j < count; ++j) out[j] = a[j] * b[j];
}

}  // namespace

std::vector<float> low_pass_taps(double cutoff, std::size_t half, double beta) {
  EXPECTS(cutoff > 0.0 && cutoff < 0.5 && half > 0);
  std::vector<double> taps(2 * half + 1);
  double sum = 0.0;
  for (std::size_t j = 0; j < taps.size(); ++j) {
    const double offset = static_cast<double>(j) - static_cast<double>(half);
    const double phase = 2.0 * std::numbers::pi * cutoff * offset;
    const double sinc = offset == 0.0 ? 1.0 : std::sin(phase) / phase;
    taps[j] = sinc * kaiser(offset / static_cast<double>(half + 1), beta);
    sum += taps[j];
  }
  std::vector<float> scaled(taps.size());
  for (std::size_t j = 0; j < taps.size(); ++j) scaled[j] = static_cast<float>(taps[j] / sum);
  return scaled;
}

void slide_filter(std::span<const float> in,
                  std::size_t first,
                  std::size_t step,
                  std::span<const float> taps,
                  std::span<float> out) {
  if (out.empty()) return;
  // First alone, so that a caller's negative start cannot wrap past the check.
  EXPECTS(step > 0 && first <= in.size());
  EXPECTS((out.size() - 1) * step + taps.size() <= in.size() - first);
  if (step == 1)
    slide_every(in.data() + first, taps.data(), taps.size(), out.data(), out.size());
  else
    slide_in_steps(in.data() + first, step, taps.data(), taps.size(), out.data(), out.size());
}

void split_pairs(std::span<const float> pairs, std::span<float> left, std::span<float> right) {
  EXPECTS(pairs.size() == 2 * left.size() && left.size() == right.size());
  split(pairs.data(), left.size(), left.data(), right.data());
}

void apply_window(std::span<const float> in, std::span<const float> window, std::span<float> out) {
  EXPECTS(in.size() == window.size() && out.size() == window.size());
  multiply(in.data(), window.data(), out.data(), out.size());
}

}  // namespace goodside::signal
