#include "signal/fir.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numbers>

#include "base/expects.hpp"
#include "signal/clones.hpp"
#include "signal/window.hpp"

namespace goodside::signal {
namespace {

/// Eight floats in one register, or in two.
using Lanes [[gnu::vector_size(32)]] = float;
constexpr std::size_t lanes = 8;
constexpr std::size_t wide = 4 * lanes;  // outputs whose sums stay in registers

/// Sets out[k] to, or adds to it, the sum over every `step`-th tap j of taps[j] in[k + j / step]: the taps run outside, so that the
/// sums do not wait on each other.
GOODSIDE_CLONES void add_taps(const float* in,
                              const float* taps,
                              std::size_t tap_count,
                              std::size_t step,
                              bool set,
                              float* out,
                              std::size_t count) {
  std::size_t k = 0;
  for (; k + wide <= count; k += wide) {
    float* sums = out + k;
    Lanes a{}, b{}, c{}, d{};
    if (!set) {
      std::memcpy(&a, sums, sizeof a);
      std::memcpy(&b, sums + lanes, sizeof b);
      std::memcpy(&c, sums + 2 * lanes, sizeof c);
      std::memcpy(&d, sums + 3 * lanes, sizeof d);
    }
    const float* shifted = in + k;
    for (std::size_t j = 0; j < tap_count; j += step, ++shifted) {
      Lanes p, q, r, s;
      std::memcpy(&p, shifted, sizeof p);
      std::memcpy(&q, shifted + lanes, sizeof q);
      std::memcpy(&r, shifted + 2 * lanes, sizeof r);
      std::memcpy(&s, shifted + 3 * lanes, sizeof s);
      const float tap = taps[j];
      a += tap * p;
      b += tap * q;
      c += tap * r;
      d += tap * s;
    }
    std::memcpy(sums, &a, sizeof a);
    std::memcpy(sums + lanes, &b, sizeof b);
    std::memcpy(sums + 2 * lanes, &c, sizeof c);
    std::memcpy(sums + 3 * lanes, &d, sizeof d);
  }
  for (; k < count; ++k) {
    const float* shifted = in + k;
    float sum = set ? 0.0F : out[k];
    for (std::size_t j = 0; j < tap_count; j += step) sum += taps[j] * *shifted++;
    out[k] = sum;
  }
}

/// out[p room + k] = in[k parts + p]
template <std::size_t parts>
[[gnu::always_inline]] inline void part(const float* in,
                                        std::size_t count,
                                        std::size_t room,
                                        float* out) {
#pragma omp simd
  for (std::size_t k = 0; k < count; ++k)
    for (std::size_t p = 0; p < parts; ++p) out[p * room + k] = in[k * parts + p];
}

GOODSIDE_CLONES void part_two(const float* in, std::size_t count, std::size_t room, float* out) {
  part<2>(in, count, room, out);
}

GOODSIDE_CLONES void part_four(const float* in, std::size_t count, std::size_t room, float* out) {
  part<4>(in, count, room, out);
}

/// Lays the `step` interleaved parts of `available` samples out without gaps, each from a multiple of `room` on.
void lay_apart(
    const float* in, std::size_t available, std::size_t step, std::size_t room, float* out) {
  std::size_t done = 0;  // of each part
  if (step == 2 || step == 4) {
    done = available / step;
    (step == 2 ? part_two : part_four)(in, done, room, out);
  }
  for (std::size_t p = 0; p < step; ++p)
    for (std::size_t k = done; k * step + p < available; ++k) out[p * room + k] = in[k * step + p];
}

/// Phase by phase: each of the `step` interleaved parts of the input is laid out without gaps, and meets the taps that
/// fall on it.
void slide_in_steps(const float* in,
                    std::size_t step,
                    const float* taps,
                    std::size_t tap_count,
                    float* out,
                    std::size_t count) {
  constexpr std::size_t block = 1024;
  const std::size_t room = block + (tap_count + step - 1) / step;
  std::vector<float> apart(step * room);
  for (std::size_t from = 0; from < count; from += block) {
    const std::size_t width = std::min(block, count - from);
    lay_apart(in + from * step, (width - 1) * step + tap_count, step, room, apart.data());
    for (std::size_t p = 0; p < std::min(step, tap_count); ++p)
      add_taps(apart.data() + p * room, taps + p, tap_count - p, step, p == 0, out + from, width);
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
    add_taps(in.data() + first, taps.data(), taps.size(), 1, true, out.data(), out.size());
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
