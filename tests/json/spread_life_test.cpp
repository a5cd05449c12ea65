#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>

#include "json/family.hpp"
#include "json/stamper_life.hpp"
#include "json/trace_report.hpp"

namespace goodside::json {
namespace {

using ::testing::HasSubstr;

works::TraceReport sample_trace() {
  works::TraceReport report;
  report.spread = {
      {.measure = "noise",
       .components = {{.source = "stamper", .variance = 1.25, .low = 0.5, .high = 9.0},
                      {.source = "press or shift", .variance = 0.0, .low = 0.0, .high = 0.3},
                      {.source = "residual", .variance = 0.25, .low = 0.2, .high = 0.31}},
       .unit = "dB",
       .mean = -60.5,
       .discs = 96,
       .levels = {{.source = "stamper", .id = "S3", .effect = 4.25, .sigma = 0.125, .discs = 16}},
       .not_told = {"batch: not known of any disc"},
       .intervals = "profile"}};
  report.spread.push_back(report.spread[0]);
  report.spread[1].side = works::DiscSide::B;
  report.off_centre = {
      {.components = {{.source = "stamper", .variance = 4.5e-8, .low = 1e-8, .high = 9e-8}},
       .mean_x_m = 1e-5,
       .mean_y_m = -2e-5,
       .discs = 40,
       .holes =
           {{.id = "S1", .size_m = 2.5e-4, .direction_deg = 131.25, .sigma_m = 1.5e-5, .discs = 8}},
       .pins = {{.press = "P2", .size_m = 1.5e-4, .sigma_m = 2e-5, .mountings = 3, .discs = 24}},
       .not_told = {"press: all discs are of one"}}};
  return report;
}

// Property: what is written and read is written the same again, order and all.
TEST(SpreadFields, LoadAfterSaveIsTheSame) {
  const std::string text = write(sample_trace());
  const auto read = read_trace(text);
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_EQ(write(*read), text);
  ASSERT_EQ(read->spread.size(), 2U);
  EXPECT_EQ(read->spread[0].components[1].source, "press or shift");
  EXPECT_EQ(read->spread[0].components[2].variance, 0.25);
  EXPECT_EQ(read->spread[1].side, works::DiscSide::B);
  EXPECT_EQ(read->spread[0].levels.at(0).effect, 4.25);
  ASSERT_EQ(read->off_centre.size(), 1U);
  EXPECT_EQ(read->off_centre[0].components[0].variance, 4.5e-8);
  EXPECT_EQ(read->off_centre[0].holes.at(0).direction_deg, 131.25);
}

// The contract's own shape: spread {noise: {stamper: {variance, low, high}}}.
TEST(SpreadFields, StandWhereTheContractWantsThem) {
  EXPECT_THAT(write(sample_trace()),
              HasSubstr(R"("stamper": {"variance": 1.25, "low": 0.5, "high": 9.0})"));
}

TEST(SpreadFields, ATraceWithoutNotesIsRead) {
  works::TraceReport bare;
  std::string text = write(bare);
  text.replace(text.find("\"spread\": {}"),
               12,
               R"("spread": {"level": {"press": {"variance": 2, "low": 1, "high": 3}}})");
  text.erase(text.find("\"spread_notes\": [],"), 19);
  const auto read = read_trace(text);
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_EQ(read->spread.at(0).components.at(0).high, 3.0);
}

TEST(HeardPlayMeasures, AreReadFromAReport) {
  const std::string report = R"({"schema": "goodside.listen/1",
    "reference": {"duration_s": 600.0}, "alignment": {"found": true},
    "faults": [], "patterns": [{"id": 1, "kind": "arc"}, {"id": 2, "kind": "radial"}],
    "noise": {"weighted_dB": -58.25},
    "levels": {"third_octave": [{"centre_Hz": 1000.0, "left_dB": -1.0, "right_dB": -2.0}], "high_loss_dB_per_m": null},
    "wow": {"eccentricity_m": 2e-4, "eccentricity_direction_deg": 0.0}})";
  const auto play = read_heard_play(report);
  ASSERT_TRUE(play) << play.error().text;
  const auto& measures = play->measures;
  EXPECT_EQ(measures[works::SideMeasure::noise], -58.25);
  EXPECT_EQ(measures[works::SideMeasure::level], -1.5);
  EXPECT_FALSE(measures[works::SideMeasure::high_loss]);
  EXPECT_FALSE(measures[works::SideMeasure::warp]);
  EXPECT_NEAR(*measures[works::SideMeasure::non_fill], 1.1726039, 1e-7);
  EXPECT_EQ(measures.off_centre.value().x_m, 2e-4);
}

TEST(HeardPlayMeasures, AReducedReportTellsNone) {
  const auto play = read_heard_play(
      R"({"schema": "goodside.listen/1", "reference": {"duration_s": 600.0}, "alignment": {"found": true}, "faults": []})");
  ASSERT_TRUE(play) << play.error().text;
  for (const auto& value : play->measures.values) EXPECT_FALSE(value);
  EXPECT_FALSE(play->measures.off_centre);
}

works::LifeReport sample_life() {
  works::LifeReport report{.confidence = 0.95};
  report.groups.push_back(
      {.by = "all",
       .value = "",
       .stampers = 12,
       .ended = 7,
       .causes =
           {{.cause = works::LifeCause::wear,
             .ends = 5,
             .shape = {2.5, 1.25, 4.5},
             .scale_closings = {1250.0, 900.5, std::nullopt},
             .tenth_closings = {500.0, 250.0, 800.0}},
            {.cause = std::nullopt, .ends = 2, .shape_assumed = true, .shape = {1.0, {}, {}}}},
       .log_likelihood = -55.125,
       .curve = {{800.0, 950.0, 0.25}, {1500.0, std::numeric_limits<double>::infinity(), 0.75}},
       .law = {{0.1, {500.0, 250.0, std::nullopt}}},
       .curve_gap = 1e-8,
       .pull = works::PullLimit{700.0, 0.125, 0.25, 600.0, std::nullopt}});
  report.remarks = {"of one"};
  report.tests.push_back({"facing", 0.03125});
  report.undetermined.push_back({"causes of press P2", "none of 3 stampers has ended yet"});
  return report;
}

TEST(StamperLifeJson, LoadAfterSaveIsTheSame) {
  const std::string text = write(sample_life());
  const auto read = read_life(text);
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_EQ(write(*read), text);
  const auto& group = read->groups.at(0);
  EXPECT_EQ(group.causes.at(0).scale_closings.low, 900.5);
  EXPECT_FALSE(group.causes.at(0).scale_closings.high);
  EXPECT_FALSE(group.causes.at(1).cause);
  EXPECT_EQ(group.curve.at(1).to_closings, std::numeric_limits<double>::infinity());
  EXPECT_EQ(group.pull.value().closings, 700.0);
  EXPECT_EQ(read->tests.at(0).chance, 0.03125);
}

TEST(StamperLifeJson, AWrongFieldIsNamed) {
  std::string text = write(sample_life());
  text.replace(text.find("\"wear\""), 6, "\"rust\"");
  const auto read = read_life(text);
  ASSERT_FALSE(read);
  EXPECT_THAT(read.error().text, HasSubstr("groups[0].causes[0].cause"));
}

}  // namespace
}  // namespace goodside::json
