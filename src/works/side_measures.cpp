#include "works/side_measures.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace goodside::works {
namespace {

std::optional<double> level_dB(const Levels& levels) {
  double sum = 0.0;
  int count = 0;
  for (const auto& band : levels.third_octave)
    if (band.centre_Hz > 240.0 && band.centre_Hz < 4100.0) {
      sum += 0.5 * (band.left_dB + band.right_dB);
      ++count;
    }
  return count > 0 ? std::optional{sum / count} : std::nullopt;
}

double non_fill(const std::vector<Pattern>& patterns) {
  const auto arcs = std::ranges::count_if(patterns, [](const Pattern& one) {
    return one.kind == PatternKind::arc && one.nature != Nature::dirt;
  });
  return std::sqrt(static_cast<double>(arcs) + 0.375);
}

}  // namespace

SideMeasures side_measures(const ListeningReport& report) {
  SideMeasures measures;
  if (!report.alignment || !report.alignment->found) return measures;
  const auto put = [&](SideMeasure which, std::optional<double> value) {
    if (value && std::isfinite(*value)) measures.values[static_cast<std::size_t>(which)] = value;
  };
  put(SideMeasure::noise, report.noise.weighted_dB);
  put(SideMeasure::non_fill, non_fill(report.patterns));
  if (report.warp) put(SideMeasure::warp, report.warp->once_per_turn_dB);
  put(SideMeasure::level, level_dB(report.levels));
  put(SideMeasure::high_loss, report.levels.high_loss_dB_per_m);
  const auto& wow = report.wow;
  if (wow.eccentricity_m && wow.eccentricity_direction_deg) {
    const double angle = *wow.eccentricity_direction_deg * std::numbers::pi / 180.0;
    measures.off_centre = HeardOffset{.x_m = *wow.eccentricity_m * std::cos(angle),
                                      .y_m = *wow.eccentricity_m * std::sin(angle)};
  }
  return measures;
}

}  // namespace goodside::works
