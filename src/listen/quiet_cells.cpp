#include "listen/quiet_cells.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace goodside::listen {
namespace {
constexpr double bottom_dB = -99.0, step_dB = 3.0;
}

std::size_t QuietCells::class_of(double programme_power) {
  constexpr double silence = 1e-30;
  const double level_dB = 10.0 * std::log10(std::max(programme_power, silence));
  const double loudness = std::floor((level_dB - bottom_dB) / step_dB) + 1.0;
  return static_cast<std::size_t>(std::clamp(loudness, 0.0, static_cast<double>(classes - 1)));
}

double QuietCells::upper_power(std::size_t loudness) {
  if (loudness + 1 >= classes) return std::numeric_limits<double>::infinity();
  return std::pow(10.0, (bottom_dB + step_dB * static_cast<double>(loudness)) / 10.0);
}

void QuietCells::take(std::size_t loudness, double value) {
  sum[loudness] += value;
  ++cells[loudness];
}

void QuietCells::merge(const QuietCells& later) {
  for (std::size_t c = 0; c < classes; ++c) {
    sum[c] += later.sum[c];
    cells[c] += later.cells[c];
  }
}

std::optional<QuietFloor> quiet_floor(const QuietCells& tally,
                                      Averaged averaged,
                                      std::uint32_t enough) {
  const auto power_of = [&](double mean) {
    return averaged == Averaged::power ? mean : std::exp(mean);
  };
  // A class of a few cells can lie low by chance, so neighbours are pooled until they are enough.
  struct Pool {
    double sum{};
    std::uint32_t cells{};
    std::size_t until{};
  };
  std::array<Pool, QuietCells::classes> pools{};
  std::size_t count = 0;
  Pool open;
  for (std::size_t c = 0; c < QuietCells::classes; ++c) {
    open.sum += tally.sum[c];
    open.cells += tally.cells[c];
    open.until = c + 1;
    if (open.cells >= enough) {
      pools[count++] = open;
      open = {};
    }
  }
  double lowest = std::numeric_limits<double>::infinity();
  for (std::size_t p = 0; p < count; ++p)
    lowest = std::min(lowest, power_of(pools[p].sum / pools[p].cells));

  constexpr double risen = 2.0;
  QuietFloor floor;
  double sum = 0.0;
  for (std::size_t p = 0; p < count; ++p) {
    const Pool& pool = pools[p];
    if (QuietCells::upper_power(pool.until - 1) * programme_leak >= lowest) break;
    if (power_of(pool.sum / pool.cells) > risen * lowest) break;
    sum += pool.sum;
    floor.cells += pool.cells;
    floor.until = pool.until;
  }
  if (floor.cells < enough || floor.cells == 0) return std::nullopt;
  floor.mean = sum / floor.cells;
  return floor;
}

}  // namespace goodside::listen
