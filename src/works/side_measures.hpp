#pragma once
#include <array>
#include <optional>
#include <string_view>

#include "works/listening_report.hpp"

namespace goodside::works {

/// What is heard of a whole side and has no groove place of its own.
enum class SideMeasure { noise, non_fill, warp, level, high_loss };
inline constexpr std::size_t side_measure_count = 5;

struct MeasureName {
  std::string_view name, unit;
};
inline constexpr std::array<MeasureName, side_measure_count> side_measure_names{
    {{"noise", "dB"},
     {"non-fill", "sqrt(arcs + 3/8)"},
     {"warp", "dB"},
     {"level", "dB"},
     {"high loss", "dB/m"}}};

/// From the hole to the groove's centre, along groove angles 0 and 90 degrees.
struct HeardOffset {
  double x_m{}, y_m{};
};

/// A play's measures of its side; what is not known is absent.
struct SideMeasures {
  std::array<std::optional<double>, side_measure_count> values{};
  std::optional<HeardOffset> off_centre{};
  [[nodiscard]] const std::optional<double>& operator[](SideMeasure which) const {
    return values[static_cast<std::size_t>(which)];
  }
};

/// A report reduced to them; only alignment.found, noise.weighted_dB, patterns, warp, levels and wow
/// are looked at. Level: the mean of both channels' gain against the cut over third octaves from 250
/// Hz to 4 kHz. Non-fill: arcs that are not told to be dirt, counted; their spread is even on the
/// scale sqrt(n + 3/8) [Anscombe, Biometrika 35, 1948, from memory]. A side that was not this cut's
/// tells nothing.
[[nodiscard]] SideMeasures side_measures(const ListeningReport&);

}  // namespace goodside::works
