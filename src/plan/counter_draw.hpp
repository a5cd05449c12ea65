#pragma once
#include <cmath>
#include <cstdint>
#include <numbers>

namespace goodside::plan {

/// Scrambles 64 bits so that equal steps come out like chance. Source: Steele, Lea and Flood, OOPSLA 2014
/// (SplitMix64's finaliser).
[[nodiscard]] constexpr std::uint64_t scramble(std::uint64_t value) {
  value += 0x9E3779B97F4A7C15U;
  value = (value ^ (value >> 30U)) * 0xBF58476D1CE4E5B9U;
  value = (value ^ (value >> 27U)) * 0x94D049BB133111EBU;
  return value ^ (value >> 31U);
}

/// Draws that hang on a key and their number alone, so that two plans that ask under the same key meet the same
/// luck, on any number of threads.
class CounterDraw {
 public:
  explicit constexpr CounterDraw(std::uint64_t key) : key_{scramble(key)} {}
  [[nodiscard]] constexpr std::uint64_t bits() { return scramble(key_ + ++count_); }
  /// In (0, 1).
  [[nodiscard]] constexpr double even() {
    return (static_cast<double>(bits() >> 12U) + 0.5) * 0x1p-52;
  }
  /// 0 … below - 1; below > 0.
  [[nodiscard]] constexpr std::uint64_t whole(std::uint64_t below) { return bits() % below; }
  /// Standard normal [Box and Muller 1958].
  [[nodiscard]] double normal() {
    const double radius = std::sqrt(-2.0 * std::log(even()));
    return radius * std::cos(2.0 * std::numbers::pi * even());
  }

 private:
  std::uint64_t key_, count_{};
};

}  // namespace goodside::plan
