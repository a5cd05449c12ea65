#include "works/side_measures.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace goodside::works {
namespace {

TEST(SideMeasures, TakesWhatTheReportKnows) {
  ListeningReport report;
  EXPECT_FALSE(side_measures(report)[SideMeasure::noise]);
  report.alignment.emplace().found = true;
  report.noise.weighted_dB = -58.5;
  const auto pattern = [&](PatternKind kind, std::optional<Nature> nature) {
    auto& one = report.patterns.emplace_back();
    one.kind = kind;
    one.nature = nature;
  };
  pattern(PatternKind::arc, Nature::non_fill);
  pattern(PatternKind::arc, Nature::dirt);
  pattern(PatternKind::radial, std::nullopt);
  report.levels.third_octave = {
      {100.0, -9.0, -9.0, {}}, {1000.0, -1.0, -2.0, {}}, {10000.0, -9.0, -9.0, {}}};
  report.wow.eccentricity_m = 2e-4;
  report.wow.eccentricity_direction_deg = 90.0;
  const auto measures = side_measures(report);
  EXPECT_EQ(measures[SideMeasure::noise], -58.5);
  EXPECT_EQ(measures[SideMeasure::level], -1.5);
  EXPECT_NEAR(*measures[SideMeasure::non_fill], std::sqrt(1.375), 1e-15);
  EXPECT_FALSE(measures[SideMeasure::warp]);
  ASSERT_TRUE(measures.off_centre);
  EXPECT_NEAR(measures.off_centre->x_m, 0.0, 1e-18);
  EXPECT_EQ(measures.off_centre->y_m, 2e-4);
}

}  // namespace
}  // namespace goodside::works
