#include "listen/crackle_line.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

namespace goodside::listen {
namespace {

constexpr double heard_s = 200.0, rpm = 78.26;
constexpr double turns = heard_s * rpm / 60.0;

double uniform(std::mt19937_64& engine) {
  return (static_cast<double>(engine() >> 11) + 0.5) * 0x1p-53;
}

/// Independent ticks whose amplitudes follow a power law: severities exponential with `scale_dB`.
std::vector<CrackleEvent> power_law(std::size_t n, double scale_dB, unsigned seed) {
  std::mt19937_64 engine{seed};
  std::vector<CrackleEvent> events(n);
  for (auto& event : events) {
    event.severity_dB = -scale_dB * std::log(uniform(engine));
    event.turn = turns * uniform(engine);
  }
  return events;
}

std::size_t faults_in(const CrackleLine& line) {
  return line.is_crackle.size() - static_cast<std::size_t>(line.crackle_count);
}

TEST(CrackleLine, LeavesAQuietSideAlone) {
  const auto events = power_law(900, 3.0, 1);  // 270 a minute
  const auto line = crackle_line(events, heard_s, rpm);
  EXPECT_FALSE(line.applied);
  EXPECT_EQ(line.crackle_count, 0);
  EXPECT_NEAR(line.rate_per_min, 270.0, 1e-9);
}

// Second road: for a power law the line is known in closed form, scale * ln(n / 1.5); the fit's
// standard error is scale * (1 + ln(n_u / 1.5)) / sqrt(n_u), here 0.6 dB; four of them.
TEST(CrackleLine, StandsWhereThePowerLawSays) {
  const auto line = crackle_line(power_law(4000, 3.0, 2), heard_s, rpm);
  ASSERT_TRUE(line.applied);
  EXPECT_NEAR(line.scale_dB, 3.0, 4.0 * 3.0 / std::sqrt(1600.0));
  EXPECT_NEAR(line.line_dB, 3.0 * std::log(4000.0 / 1.5), 4.0 * 0.6);
  EXPECT_LT(line.three_line_dB, line.pair_line_dB);
  EXPECT_LT(line.pair_line_dB, line.line_dB);
}

// Property: over many surfaces 1.5 events alone, at most 0.5 more each by kin in pairs and threes,
// stay as faults.
TEST(CrackleLine, LeavesAsManyBackgroundEventsAsItSays) {
  constexpr int sides = 200;
  double alone = 0.0, all = 0.0;
  for (unsigned seed = 1; seed <= sides; ++seed) {
    const auto events = power_law(3000, 4.0, seed);
    const auto line = crackle_line(events, heard_s, rpm);
    alone += static_cast<double>(std::count_if(events.begin(), events.end(), [&](const auto& e) {
      return e.severity_dB >= line.line_dB;
    }));
    all += static_cast<double>(faults_in(line));
  }
  // Poisson scatter of the mean over the sides, and the fit's own scatter, which lifts the mean a
  // little.
  EXPECT_NEAR(alone / sides, 1.5, 0.45);
  EXPECT_LT(all / sides, 1.5 + 0.45 + 1.0 + 0.3);
}

// A log-normal surface has a lighter tail than the fit: fewer background events, never more.
TEST(CrackleLine, ErrsToTheQuietSideOnALogNormalSurface) {
  constexpr int sides = 50;
  std::size_t alone = 0;
  for (unsigned seed = 1; seed <= sides; ++seed) {
    auto events = power_law(3000, 1.0, seed);
    std::mt19937_64 engine{seed + 1000};
    for (auto& event : events)
      event.severity_dB = 5.0 * std::sqrt(-2.0 * std::log(uniform(engine))) *
                          std::cos(6.283185307179586 * uniform(engine));
    const auto line = crackle_line(events, heard_s, rpm);
    for (const auto& event : events) alone += event.severity_dB >= line.line_dB ? 1U : 0U;
  }
  EXPECT_LT(static_cast<double>(alone) / sides, 1.5);
}

// Thirty true faults far over the surface do not drag the line over themselves.
TEST(CrackleLine, IsNotStretchedByTrueFaults) {
  auto events = power_law(3000, 2.5, 5);
  const double before_dB = crackle_line(events, heard_s, rpm).line_dB;
  for (int i = 0; i < 30; ++i) events.push_back({.severity_dB = 35.0 + i, .turn = {}});
  const auto line = crackle_line(events, heard_s, rpm);
  EXPECT_NEAR(line.line_dB, before_dB, 1.0);
  for (std::size_t i = 3000; i < events.size(); ++i) EXPECT_EQ(line.is_crackle[i], 0);
}

TEST(CrackleLine, KeepsWeakerTicksThatRecurAtOneAngle) {
  auto events = power_law(3000, 3.0, 6);
  const auto before = crackle_line(events, heard_s, rpm);
  const double pair_dB = before.pair_line_dB + 0.7, three_dB = before.three_line_dB + 0.7;
  const std::size_t first = events.size();
  for (const double turn : {40.303, 41.304}) events.push_back({pair_dB, turn});
  for (const double turn : {90.611, 91.612, 92.610}) events.push_back({three_dB, turn});
  events.push_back({pair_dB, {}});  // the same, at no known angle
  const auto line = crackle_line(events, heard_s, rpm);
  ASSERT_LT(pair_dB, line.line_dB);
  for (std::size_t i = first; i + 1 < events.size(); ++i) EXPECT_EQ(line.is_crackle[i], 0) << i;
  EXPECT_EQ(line.is_crackle.back(), 1);
}

// Property: a louder playback moves every severity and the lines alike, and changes no answer.
TEST(CrackleLine, MovesWithTheLevel) {
  auto events = power_law(2000, 3.0, 7);
  const auto line = crackle_line(events, heard_s, rpm);
  for (auto& event : events) event.severity_dB += 8.0;
  const auto louder = crackle_line(events, heard_s, rpm);
  EXPECT_NEAR(louder.line_dB, line.line_dB + 8.0, 1e-9);
  EXPECT_EQ(louder.crackle_count, line.crackle_count);
}

}  // namespace
}  // namespace goodside::listen
