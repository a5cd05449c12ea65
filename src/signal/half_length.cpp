#include "signal/half_length.hpp"

#include <cmath>
#include <cstring>
#include <numbers>

#include "base/expects.hpp"
#include "signal/clones.hpp"

namespace goodside::signal {
namespace {

using Complex = std::complex<float>;
/// Four complex numbers, in one register or in two.
using Four [[gnu::vector_size(32)]] = float;
constexpr std::size_t wide = 4;

/// `four` becomes conj of itself, the last first.
[[gnu::always_inline]] inline void mirror(Four& four) {
  constexpr Four conjugate{1.0F, -1.0F, 1.0F, -1.0F, 1.0F, -1.0F, 1.0F, -1.0F};
  four = __builtin_shufflevector(four, four, 6, 7, 4, 5, 2, 3, 0, 1) * conjugate;
}

/// d becomes turn d, or conj(turn) d.
template <bool back>
[[gnu::always_inline]] inline void turn_by(const Four& turn, Four& d) {
  constexpr float s = back ? -1.0F : 1.0F;
  constexpr Four sign{-s, s, -s, s, -s, s, -s, s};
  const Four real = __builtin_shufflevector(turn, turn, 0, 0, 2, 2, 4, 4, 6, 6);
  const Four imag = __builtin_shufflevector(turn, turn, 1, 1, 3, 3, 5, 5, 7, 7);
  const Four swapped = __builtin_shufflevector(d, d, 1, 0, 3, 2, 5, 4, 7, 6);
  d = real * d + imag * sign * swapped;
}

/// Bins k and n/2 - k from each other, k = 1 .. n/4.
template <bool back>
[[gnu::always_inline]] inline void pair_up(Complex* x, const Complex* turns, std::size_t half) {
  constexpr float mean = back ? 1.0F : 0.5F;
  constexpr float turn_scale = back ? 2.0F : 1.0F;
  auto* parts = reinterpret_cast<float*>(x);  // real and imaginary in turn, by standard
  const auto* turn_parts = reinterpret_cast<const float*>(turns);
  std::size_t k = 1;
  for (; 2 * k + 2 * wide <= half + 1; k += wide) {
    float* low_at = parts + 2 * k;
    float* high_at = parts + 2 * (half - k - (wide - 1));
    Four low, high, turn;
    std::memcpy(&low, low_at, sizeof low);
    std::memcpy(&high, high_at, sizeof high);
    std::memcpy(&turn, turn_parts + 2 * k, sizeof turn);
    mirror(high);
    const Four sum = mean * (low + high);
    Four change = turn_scale * (low - high);
    turn_by<back>(turn, change);
    low = sum + change;
    high = sum - change;
    mirror(high);
    std::memcpy(low_at, &low, sizeof low);
    std::memcpy(high_at, &high, sizeof high);
  }
  for (; 2 * k <= half; ++k) {
    const Complex low = x[k];
    const Complex high = std::conj(x[half - k]);
    const Complex sum = mean * (low + high);
    const Complex change = turn_scale * (back ? std::conj(turns[k]) : turns[k]) * (low - high);
    x[k] = sum + change;
    x[half - k] = std::conj(sum - change);
  }
}

GOODSIDE_CLONES void untangle_pairs(Complex* x, const Complex* turns, std::size_t half) {
  pair_up<false>(x, turns, half);
}

GOODSIDE_CLONES void tangle_pairs(Complex* x, const Complex* turns, std::size_t half) {
  pair_up<true>(x, turns, half);
}

}  // namespace

Aligned<Complex> half_turns(std::size_t length) {
  Aligned<Complex> turns(length / 4 + 1 + wide);
  for (std::size_t k = 0; k < turns.size(); ++k) {
    const double angle =
        2.0 * std::numbers::pi * static_cast<double>(k) / static_cast<double>(length);
    turns[k] = {static_cast<float>(-0.5 * std::sin(angle)),
                static_cast<float>(-0.5 * std::cos(angle))};
  }
  return turns;
}

void untangle(std::span<Complex> spectrum, std::span<const Complex> turns) {
  const std::size_t half = spectrum.size() - 1;
  EXPECTS(half >= 1 && turns.size() > half / 2);
  const Complex first = spectrum[0];
  spectrum[0] = first.real() + first.imag();
  spectrum[half] = first.real() - first.imag();
  untangle_pairs(spectrum.data(), turns.data(), half);
}

void tangle(std::span<Complex> spectrum, std::span<const Complex> turns) {
  const std::size_t half = spectrum.size() - 1;
  EXPECTS(half >= 1 && turns.size() > half / 2);
  const float first = spectrum[0].real();
  const float last = spectrum[half].real();
  spectrum[0] = {first + last, first - last};
  tangle_pairs(spectrum.data(), turns.data(), half);
}

}  // namespace goodside::signal
