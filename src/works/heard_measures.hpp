#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "works/disc_plays.hpp"
#include "works/family.hpp"

namespace goodside::works {

/// What is heard of a whole side and has no groove place of its own.
enum class SideMeasure { noise, non_fill, warp, level, high_loss };
inline constexpr std::size_t side_measures = 5;

struct MeasureName {
  std::string_view name, unit;
};
inline constexpr std::array<MeasureName, side_measures> side_measure_names{
    {{"noise", "dB"},
     {"non-fill", "sqrt(arcs + 3/8)"},
     {"warp", "dB"},
     {"level", "dB"},
     {"high loss", "dB/m"}}};

/// From the hole to the groove's centre, along groove angles 0 and 90 degrees.
struct HeardOffset {
  double x_m{}, y_m{};
};

/// One play, reduced to its measures of the side.
struct HeardMeasures {
  std::string disc;
  DiscSide side{};
  std::int64_t play{1};
  After after{After::as_found};
  std::array<std::optional<double>, side_measures> values{};
  std::optional<HeardOffset> off_centre{};
};

}  // namespace goodside::works
