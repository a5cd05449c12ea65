#pragma once
#include <bit>
#include <cstdint>

namespace goodside::signal {

/// log2 x of a positive normal number, to 1.5e-4: its exponent, and a polynomial for log2(1 + u) that is exact at 0
/// and 1, by least squares. For loops that the compiler turns into vector code.
[[gnu::always_inline]] inline float quick_log2(float x) {
  const auto bits = std::bit_cast<std::int32_t>(x);
  const auto exponent = static_cast<float>((bits >> 23) - 127);
  const float u = std::bit_cast<float>((bits & 0x7fffff) | 0x3f800000) - 1.0F;
  const float v = u * (1.0F - u);
  return exponent + u + v * (0.43807F - 0.08031F * v - 0.15639F * u);
}

/// 2^x for x in (-126, 128), to 2e-5 of itself; made as quick_log2 is.
[[gnu::always_inline]] inline float quick_exp2(float x) {
  constexpr float bias =
      127.0F;  // the shifted number is positive, so that its whole part lies under it
  const auto whole = static_cast<std::int32_t>(x + bias);
  const float u = x + bias - static_cast<float>(whole);
  const float mantissa = 1.0F + u - u * (1.0F - u) * (0.30700F + u * (0.06544F + 0.01369F * u));
  return std::bit_cast<float>(whole << 23) * mantissa;
}

}  // namespace goodside::signal
