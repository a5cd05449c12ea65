#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>

namespace goodside::listen {

/// Time-frequency cells of one band, sorted by how loud the programme was in them. Which classes
/// are clear of the programme is decided at the end, when the noise is known, so the answer cannot
/// depend on the order or the pieces in which the cells came.
/// Classes are 3 dB wide from -99 dB re a mean square of 1; the outer two take the rest.
struct QuietCells {
  static constexpr std::size_t classes = 33;
  static std::size_t class_of(double programme_power);
  static double upper_power(std::size_t loudness);  ///< top of a class, mean square

  std::array<double, classes> sum{};  ///< of whatever is averaged: noise power or its logarithm
  std::array<std::uint32_t, classes> cells{};

  void take(std::size_t loudness, double value);
  void merge(const QuietCells& later);
};

struct QuietFloor {
  double mean{};        ///< of the averaged quantity over the classes clear of the programme
  std::size_t until{};  ///< classes 0 .. until-1 are clear
  std::uint32_t cells{};
};

/// Share of the programme's power that may be left in a cell that counts as noise: 10^-3.2 (32 dB).
inline constexpr double programme_leak = 6.3095734448e-4;

enum class Averaged { power, log_power };

/// The noise of a band from the cells where the programme cannot matter: those of programme power P
/// with
///     P 10^-3.2 < N,
/// N being the lowest class mean; the search ends where a class mean rises above 2 N, which is
/// programme leaking in. Empty when fewer than `enough` cells are clear.
/// Source:   own method; the 32 dB are a finding of simulated sides (docs/listening_measures.md).
/// Valid:    the programme is taken away by 32 dB or better.
std::optional<QuietFloor> quiet_floor(const QuietCells& tally,
                                      Averaged averaged,
                                      std::uint32_t enough);

}  // namespace goodside::listen
