#include "trace/spread.hpp"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "trace/measures.hpp"

namespace goodside::trace {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

struct Works {
  works::Family family;
  std::vector<works::HeardMeasures> heard;
};

/// 6 stampers, each mounted twice and on either press, 8 discs a mounting heard.
Works two_presses() {
  Works result;
  int impression = 0;
  for (int stamper = 0; stamper < 6; ++stamper)
    for (int turn = 0; turn < 2; ++turn)
      for (int i = 0; i < 8; ++i) {
        works::FamilyDisc disc;
        disc.id = fmt::format("D{}", ++impression);
        disc.stamper[0] = fmt::format("S{}", stamper);
        disc.mounting = fmt::format("M{}", 2 * stamper + turn);
        disc.press = turn == 0 ? "P1" : "P2";
        disc.batch = fmt::format("B{}", impression / 20);
        result.heard.push_back({.disc = disc.id});
        result.family.discs.push_back(std::move(disc));
      }
  return result;
}

double variance_of(const works::Spread& spread, const std::string& source) {
  for (const auto& component : spread.components)
    if (component.source == source) return component.variance;
  ADD_FAILURE() << "no component " << source;
  return -1.0;
}

constexpr auto noise = static_cast<std::size_t>(works::SideMeasure::noise);

// Property, fixed seed: a noisy stamper is named, and its like carry the variance.
TEST(SpreadOf, NamesTheStamperThatIsNoisy) {
  Works one = two_presses();
  std::mt19937_64 draw{4};
  std::normal_distribution<double> normal;
  for (std::size_t i = 0; i < one.heard.size(); ++i)
    one.heard[i].values[noise] =
        -60.0 + (one.family.discs[i].stamper[0] == "S3" ? 5.0 : 0.0) + 0.3 * normal(draw);
  const auto spreads = spread_of(one.family, works::DiscSide::A, one.heard);
  ASSERT_EQ(spreads.size(), 1U);
  EXPECT_EQ(spreads[0].measure, "noise");
  EXPECT_EQ(spreads[0].discs, 96);
  EXPECT_GT(variance_of(spreads[0], "stamper"), 10.0 * variance_of(spreads[0], "press"));
  EXPECT_NEAR(variance_of(spreads[0], "residual"), 0.09, 0.04);
  ASSERT_FALSE(spreads[0].levels.empty());
  EXPECT_EQ(spreads[0].levels[0].id, "S3");
  EXPECT_NEAR(spreads[0].levels[0].effect, 25.0 / 6.0, 0.3);
  EXPECT_EQ(spreads[0].levels[0].discs, 16);
  EXPECT_THAT(spreads[0].not_told, Contains(HasSubstr("shift: not known")));
}

// Property: plays of a disc count once, the quietest for noise.
TEST(SpreadOf, TakesTheQuietestOfSeveralPlays) {
  Works one = two_presses();
  for (std::size_t i = 0; i < one.heard.size(); ++i)
    one.heard[i].values[noise] = -60.0 + 0.1 * static_cast<double>(i % 7);
  const auto before = spread_of(one.family, works::DiscSide::A, one.heard);
  const auto plays = one.heard;
  for (auto play : plays) {
    play.play = 2;
    play.values[noise] = *play.values[noise] + 9.0;
    one.heard.push_back(play);
  }
  const auto after = spread_of(one.family, works::DiscSide::A, one.heard);
  ASSERT_EQ(after.size(), 1U);
  EXPECT_EQ(after[0].mean, before[0].mean);
  EXPECT_EQ(after[0].discs, before[0].discs);
}

// Sources that divide the discs alike are named together, not split by chance.
TEST(SpreadOf, SourcesThatGoTogetherAreNamedTogether) {
  Works one = two_presses();
  for (auto& disc : one.family.discs) {
    disc.mounting = fmt::format("M of {}", disc.stamper[0]);
    disc.shift = disc.press == "P1" ? "day" : "night";
  }
  std::mt19937_64 draw{4};
  std::normal_distribution<double> normal;
  for (auto& play : one.heard) play.values[noise] = -60.0 + normal(draw);
  const auto spreads = spread_of(one.family, works::DiscSide::A, one.heard);
  ASSERT_EQ(spreads.size(), 1U);
  static_cast<void>(variance_of(spreads[0], "stamper or mounting"));
  static_cast<void>(variance_of(spreads[0], "press or shift"));
}

/// Holes of `hole` along one direction a stamper, pins of `pin` turned anew with every mounting.
void put_off_centre(Works& one, double hole, double pin) {
  std::mt19937_64 draw{8};
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> turn{0.0, 2.0 * std::numbers::pi};
  std::vector<double> hole_turn(6), pin_turn(12);
  for (double& angle : hole_turn) angle = turn(draw);
  for (double& angle : pin_turn) angle = turn(draw);
  for (std::size_t i = 0; i < one.heard.size(); ++i) {
    const auto& disc = one.family.discs[i];
    const double a = hole_turn[static_cast<std::size_t>(std::stoi(disc.stamper[0].substr(1)))];
    const double b = pin_turn[static_cast<std::size_t>(std::stoi(disc.mounting.substr(1)))];
    const double size = disc.press == "P2" ? pin : 0.0;
    one.heard[i].off_centre =
        works::HeardOffset{.x_m = hole * std::cos(a) + size * std::cos(b) + 1e-5 * normal(draw),
                           .y_m = hole * std::sin(a) + size * std::sin(b) + 1e-5 * normal(draw)};
  }
}

// Property, fixed seed: the same hole on all discs of a stamper is its own, however it was mounted.
TEST(OffCentreOf, TellsTheStampersHole) {
  Works one = two_presses();
  put_off_centre(one, 2e-4, 0.0);
  const auto told = off_centre_of(one.family, works::DiscSide::A, one.heard);
  ASSERT_TRUE(told);
  ASSERT_EQ(told->components.at(0).source, "stamper");
  ASSERT_EQ(told->components.at(1).source, "mounting");
  EXPECT_GT(told->components[0].low, 100.0 * told->components[1].variance);
  ASSERT_EQ(told->holes.size(), 6U);
  for (const auto& hole : told->holes) {
    EXPECT_NEAR(hole.size_m, 2e-4, 4.0 * hole.sigma_m + 1e-6);
    EXPECT_EQ(hole.discs, 16);
  }
}

// Property, fixed seed: what turns with every mounting on one press alone is that press's pin.
TEST(OffCentreOf, TellsThePressesPin) {
  Works one = two_presses();
  put_off_centre(one, 0.0, 3e-4);
  const auto told = off_centre_of(one.family, works::DiscSide::A, one.heard);
  ASSERT_TRUE(told);
  EXPECT_GT(told->components.at(1).variance, told->components.at(0).variance);
  ASSERT_EQ(told->pins.size(), 2U);
  EXPECT_EQ(told->pins[0].press, "P2");
  EXPECT_EQ(told->pins[0].mountings, 6);
  EXPECT_NEAR(told->pins[0].size_m, 3e-4, 0.8e-4);
  EXPECT_LT(told->pins[1].size_m, 1e-4);
}

TEST(OffCentreOf, SaysWhereHoleAndPinShowAlike) {
  Works one = two_presses();
  put_off_centre(one, 2e-4, 0.0);
  for (auto& disc : one.family.discs) disc.mounting = fmt::format("M of {}", disc.stamper[0]);
  const auto told = off_centre_of(one.family, works::DiscSide::A, one.heard);
  ASSERT_TRUE(told);
  EXPECT_EQ(told->components.at(0).source, "stamper or mounting");
  EXPECT_TRUE(told->pins.empty());
  EXPECT_THAT(told->not_told, Contains(HasSubstr("changes just with the stamper")));
}

TEST(OffCentreOf, NeedsAFewDiscs) {
  Works one = two_presses();
  one.heard.resize(3);
  put_off_centre(one, 2e-4, 0.0);
  EXPECT_FALSE(off_centre_of(one.family, works::DiscSide::A, one.heard));
}

TEST(MeasuresOf, TakesWhatTheReportKnows) {
  works::ListeningReport report;
  EXPECT_FALSE(measures_of(report).values[noise]);
  report.alignment.emplace().found = true;
  report.noise.weighted_dB = -58.5;
  const auto pattern = [&](works::PatternKind kind, std::optional<works::Nature> nature) {
    auto& one = report.patterns.emplace_back();
    one.kind = kind;
    one.nature = nature;
  };
  pattern(works::PatternKind::arc, works::Nature::non_fill);
  pattern(works::PatternKind::arc, works::Nature::dirt);
  pattern(works::PatternKind::radial, std::nullopt);
  report.levels.third_octave = {
      {100.0, -9.0, -9.0, {}}, {1000.0, -1.0, -2.0, {}}, {10000.0, -9.0, -9.0, {}}};
  report.wow.eccentricity_m = 2e-4;
  report.wow.eccentricity_direction_deg = 90.0;
  const auto measures = measures_of(report);
  EXPECT_EQ(measures.values[noise], -58.5);
  EXPECT_EQ(measures.values[static_cast<std::size_t>(works::SideMeasure::level)], -1.5);
  EXPECT_NEAR(*measures.values[static_cast<std::size_t>(works::SideMeasure::non_fill)],
              std::sqrt(1.375),
              1e-15);
  EXPECT_FALSE(measures.values[static_cast<std::size_t>(works::SideMeasure::warp)]);
  ASSERT_TRUE(measures.off_centre);
  EXPECT_NEAR(measures.off_centre->x_m, 0.0, 1e-18);
  EXPECT_EQ(measures.off_centre->y_m, 2e-4);
}

}  // namespace
}  // namespace goodside::trace
