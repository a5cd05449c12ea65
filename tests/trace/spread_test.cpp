#include "trace/spread.hpp"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

namespace goodside::trace {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

struct Works {
  works::Family family;
  std::vector<works::HeardPlay> heard;
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
        result.heard.emplace_back().disc = disc.id;
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

std::optional<double>& put(works::HeardPlay& play) {
  return play.measures.values[static_cast<std::size_t>(works::SideMeasure::noise)];
}

std::optional<works::Spread> noise_of(const Works& one) {
  return spread_of(one.family, works::DiscSide::A, one.heard, works::SideMeasure::noise);
}

// Property, fixed seed: a noisy stamper is named, and its like carry the variance.
TEST(SpreadOf, NamesTheStamperThatIsNoisy) {
  Works one = two_presses();
  std::mt19937_64 draw{4};
  std::normal_distribution<double> normal;
  for (std::size_t i = 0; i < one.heard.size(); ++i)
    put(one.heard[i]) =
        -60.0 + (one.family.discs[i].stamper[0] == "S3" ? 5.0 : 0.0) + 0.3 * normal(draw);
  const auto spread = noise_of(one);
  ASSERT_TRUE(spread);
  EXPECT_EQ(spread->measure, "noise");
  EXPECT_EQ(spread->discs, 96);
  EXPECT_GT(variance_of(*spread, "stamper"), 10.0 * variance_of(*spread, "press"));
  EXPECT_NEAR(variance_of(*spread, "residual"), 0.09, 0.04);
  ASSERT_FALSE(spread->levels.empty());
  EXPECT_EQ(spread->levels[0].id, "S3");
  EXPECT_NEAR(spread->levels[0].effect, 25.0 / 6.0, 0.3);
  EXPECT_EQ(spread->levels[0].discs, 16);
  EXPECT_THAT(spread->not_told, Contains(HasSubstr("shift: not known")));
}

// Property: plays of a disc count once, the quietest for noise.
TEST(SpreadOf, TakesTheQuietestOfSeveralPlays) {
  Works one = two_presses();
  for (std::size_t i = 0; i < one.heard.size(); ++i)
    put(one.heard[i]) = -60.0 + 0.1 * static_cast<double>(i % 7);
  const auto before = noise_of(one);
  const auto plays = one.heard;
  for (auto play : plays) {
    play.play = 2;
    put(play) = *put(play) + 9.0;
    one.heard.push_back(play);
  }
  const auto after = noise_of(one);
  ASSERT_TRUE(before && after);
  EXPECT_EQ(after->mean, before->mean);
  EXPECT_EQ(after->discs, before->discs);
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
  for (auto& play : one.heard) put(play) = -60.0 + normal(draw);
  const auto spread = noise_of(one);
  ASSERT_TRUE(spread);
  static_cast<void>(variance_of(*spread, "stamper or mounting"));
  static_cast<void>(variance_of(*spread, "press or shift"));
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
    one.heard[i].measures.off_centre =
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

}  // namespace
}  // namespace goodside::trace
