#include "listen/revolution.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <string>
#include <vector>

namespace goodside::listen {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
constexpr double cell_s = 5e-3;
constexpr double slow_rate_Hz = 50.0;

/// Independent noise on two walls, and in the infrasound: a cell's energy is a chi-square of 40 degrees of freedom.
TurnHeard surface(double seconds, unsigned seed) {
  TurnHeard heard;
  heard.cell_s = cell_s;
  heard.slow_rate_Hz = slow_rate_Hz;
  heard.frame_s = 2.0 * cell_s;
  heard.tonal.assign(static_cast<std::size_t>(seconds / heard.frame_s), 0.25F);
  std::mt19937 engine{seed};
  std::chi_squared_distribution<float> energy{40.0F};
  std::normal_distribution<float> draw{0.0F, 1.0F};
  const auto cells = static_cast<std::size_t>(seconds / cell_s);
  for (std::size_t k = 0; k < cells; ++k) {
    heard.left.push_back(energy(engine));
    heard.right.push_back(energy(engine));
    heard.vertical.push_back(0.25F * (heard.left.back() + heard.right.back()));
  }
  for (std::size_t k = 0; k < static_cast<std::size_t>(seconds * slow_rate_Hz); ++k)
    heard.slow.push_back(draw(engine));
  return heard;
}

void scale_cell(TurnHeard& heard, std::size_t k, float factor) {
  for (auto* energies : {&heard.left, &heard.right, &heard.vertical}) (*energies)[k] *= factor;
}

/// Every `period_s` the same hundred cells, of fixed loudness, again.
void recur(TurnHeard& heard, double period_s, float swing_dB, unsigned seed) {
  std::mt19937 engine{seed};
  std::normal_distribution<float> draw{0.0F, swing_dB};
  std::vector<float> pattern(static_cast<std::size_t>(period_s / cell_s) + 1);
  for (float& one : pattern) one = std::pow(10.0F, 0.1F * draw(engine));
  for (std::size_t k = 0; k < heard.left.size(); ++k) {
    const double time_s = (static_cast<double>(k) + 0.5) * cell_s;
    scale_cell(heard, k, pattern[static_cast<std::size_t>(std::fmod(time_s, period_s) / cell_s)]);
  }
}

void expect_turn(const TurnFound& found, double rpm, const std::string& road) {
  ASSERT_TRUE(found.turn) << found.why;
  EXPECT_NEAR(found.turn->rpm, rpm, 4.0 * found.turn->sigma_rpm);
  EXPECT_LT(found.turn->sigma_rpm, 0.01 * rpm);
  EXPECT_LT(found.turn->chance, 1e-3);
  EXPECT_THAT(found.turn->evidence, Contains(road));
}

// Property: the chance that is told is the rate of false alarms. 300 captures of noise at one in twenty: 15 are
// expected, over 30 come one time in 2500 (binomial).
TEST(Revolution, NoiseKeepsTheRateOfFalseAlarms) {
  int false_alarms = 0;
  for (unsigned seed = 1; seed <= 300; ++seed) {
    auto heard = surface(seed % 2 == 0 ? 12.0 : 50.0, seed);
    std::mt19937 engine{seed};
    std::uniform_real_distribution<double> when{0.0, 12.0};
    for (int k = 0; k < 30; ++k) heard.ticks_s.push_back(when(engine));
    std::ranges::sort(heard.ticks_s);
    if (find_turn(heard, {.sure_chance = 0.05}).turn) ++false_alarms;
  }
  RecordProperty("false_alarms", false_alarms);
  EXPECT_LE(false_alarms, 30);
}

TEST(Revolution, FindsASurfaceThatRecurs) {
  for (const double rpm : {100.0 / 3.0, 45.0, 77.92, 78.26, 61.7}) {
    auto heard = surface(5.0 * 60.0 / rpm, 5);
    recur(heard, 60.0 / rpm, 1.0F, 3);
    const auto found = find_turn(heard);
    expect_turn(found, rpm, "repeat");
    if (found.turn) {
      EXPECT_EQ(found.turn->nominal_rpm.has_value(), rpm != 61.7);
    }
  }
}

TEST(Revolution, FindsASwingOfTheNoise) {
  auto heard = surface(60.0, 7);
  for (std::size_t k = 0; k < heard.left.size(); ++k)
    scale_cell(heard,
               k,
               std::pow(10.0F,
                        0.05F * static_cast<float>(std::sin(2.0 * std::numbers::pi * 34.0 / 60.0 *
                                                            static_cast<double>(k) * cell_s))));
  expect_turn(find_turn(heard), 34.0, "swing");
}

TEST(Revolution, FindsAWarp) {
  auto heard = surface(60.0, 9);
  for (std::size_t k = 0; k < heard.slow.size(); ++k)
    heard.slow[k] += 0.3F * static_cast<float>(std::sin(2.0 * std::numbers::pi * 78.1 / 60.0 *
                                                        static_cast<double>(k) / slow_rate_Hz));
  expect_turn(find_turn(heard), 78.1, "warp");
}

// A saddle: two a turn and a weak fourth of them.
TEST(Revolution, HalvesASaddle) {
  auto heard = surface(60.0, 9);
  for (std::size_t k = 0; k < heard.slow.size(); ++k) {
    const double turn =
        2.0 * std::numbers::pi * 33.4 / 60.0 * static_cast<double>(k) / slow_rate_Hz;
    heard.slow[k] += static_cast<float>(0.5 * std::sin(2.0 * turn) + 0.2 * std::sin(4.0 * turn));
  }
  expect_turn(find_turn(heard), 33.4, "warp");
}

TEST(Revolution, FindsTicksAtOneAngle) {
  auto heard = surface(40.0, 11);
  std::mt19937 engine{2};
  std::uniform_real_distribution<double> when{0.0, 40.0};
  for (int k = 0; k < 10; ++k) heard.ticks_s.push_back(when(engine));
  for (double at_s = 0.4; at_s < 40.0; at_s += 60.0 / 45.2) heard.ticks_s.push_back(at_s);
  std::ranges::sort(heard.ticks_s);
  expect_turn(find_turn(heard), 45.2, "ticks");
}

// 100 beats a minute keep time with 33 1/3.
TEST(Revolution, TakesNoBeatForATurn) {
  auto heard = surface(30.0, 13);
  recur(heard, 0.6, 2.0F, 4);
  const auto found = find_turn(heard);
  EXPECT_FALSE(found.turn);
  EXPECT_THAT(found.why, HasSubstr("rhythm"));
}

// Programme leans to the middle, or is tuned: what recurs in it tells nothing, whatever its period.
TEST(Revolution, HearsNothingInProgramme) {
  auto heard = surface(30.0, 13);
  recur(heard, 1.8, 2.0F, 4);
  auto tuned = heard;
  for (float& one : heard.vertical) one *= 0.3F;
  std::ranges::fill(tuned.tonal, 0.7F);
  for (const auto& programme : {heard, tuned}) {
    const auto found = find_turn(programme);
    EXPECT_FALSE(found.turn);
    EXPECT_THAT(found.why, HasSubstr("free of programme"));
  }
}

// A beat at three a turn, 26 dB over the line at the turn itself.
TEST(Revolution, TakesNoBeatInTheInfrasoundForAWarp) {
  auto heard = surface(60.0, 17);
  for (std::size_t k = 0; k < heard.slow.size(); ++k) {
    const double turn = 2.0 * std::numbers::pi * static_cast<double>(k) / slow_rate_Hz / 1.8;
    heard.slow[k] += static_cast<float>(0.5 * std::sin(turn) + 10.0 * std::sin(3.0 * turn));
  }
  EXPECT_FALSE(find_turn(heard).turn);
}

// A tune's bar of 3.6 s has its line at 33 1/3 as well as those between.
TEST(Revolution, TakesNoTuneInTheInfrasoundForAWarp) {
  auto heard = surface(60.0, 15);
  for (std::size_t k = 0; k < heard.slow.size(); ++k)
    for (int line = 1; line < 8; ++line)
      heard.slow[k] += 0.3F * static_cast<float>(std::sin(2.0 * std::numbers::pi * line / 3.6 *
                                                          static_cast<double>(k) / slow_rate_Hz));
  const auto found = find_turn(heard);
  EXPECT_FALSE(found.turn);
  EXPECT_THAT(found.why, HasSubstr("rhythm"));
}

TEST(Revolution, RefusesLessThanFourTurns) {
  auto heard = surface(2.5, 13);
  EXPECT_THAT(find_turn(heard).why, HasSubstr("shorter than 4 turns"));
  heard = surface(6.5, 13);  // 3.6 turns at 33 1/3, 4 at 36.9 and more
  recur(heard, 1.8, 2.0F, 4);
  EXPECT_FALSE(find_turn(heard).turn);
  EXPECT_TRUE(find_turn(heard, {.least_turns = 3.0}).turn);
}

}  // namespace
}  // namespace goodside::listen
