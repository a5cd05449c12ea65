#include "listen/check_disc.hpp"

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "listen/bench_reports.hpp"

namespace goodside::listen {
namespace {

using test::Draws;
using testing::Contains;
using testing::HasSubstr;
using works::ListeningReport;

/// Plays of one disc on a bench that stands still, every measure with its own scatter.
std::vector<ListeningReport> still_bench(int plays, std::uint64_t seed) {
  Draws draws{seed};
  std::vector<ListeningReport> all;
  for (int k = 0; k < plays; ++k) {
    auto play = test::clean_play("play " + std::to_string(k + 1));
    play.alignment->speed_error_ppm = 300.0 + 40.0 * draws.normal();
    play.alignment->gain_dB = -3.0 + 0.05 * draws.normal();
    play.wow.eccentricity_m = 60e-6 + 5e-6 * draws.normal();
    play.noise.weighted_dB = -60.0 + 0.3 * draws.normal();
    play.noise.hum_dB = -70.0 + 0.5 * draws.normal();
    play.levels.balance_dB = 0.2 + 0.05 * draws.normal();
    for (int band = -16; band <= 13; ++band) {
      const double level_dB = 0.1 * draws.normal();
      play.levels.third_octave.push_back({1000.0 * std::pow(10.0, 0.1 * band), level_dB, level_dB});
    }
    all.push_back(play);
  }
  return all;
}

const works::BenchMeasure& of(const works::BenchCheck& check, const std::string& field) {
  return *std::ranges::find(check.measures, field, &works::BenchMeasure::field);
}

// Property: on a bench that stands still the latest play is called moved no oftener than the
// charts' errors add up to: seven charts at 0.27 % (twice, level and drift) and two families of
// third octaves: 4.3 %; over 400 benches, 4 sigma: 7 %.
TEST(CheckBench, SeldomCallsABenchMovedThatStandsStill) {
  constexpr int benches = 400;
  int moved = 0;
  for (int k = 0; k < benches; ++k) {
    const auto check = check_bench(still_bench(14, 100 + static_cast<std::uint64_t>(k)), {});
    ASSERT_TRUE(check) << check.error().text;
    moved += check->moved ? 1 : 0;
  }
  EXPECT_LT(moved, benches * 7 / 100);
}

TEST(CheckBench, SeesAWornStylusInTheTreble) {
  auto plays = still_bench(16, 1);
  for (auto& band : plays.back().levels.third_octave)
    if (band.centre_Hz > 7000.0) {
      band.left_dB -= 2.0;
      band.right_dB -= 2.0;
    }
  const auto check = check_bench(plays, {});
  ASSERT_TRUE(check);
  EXPECT_TRUE(check->moved);
  EXPECT_TRUE(of(*check, "levels.third_octave.1e+04").moved);
  EXPECT_THAT(check->look_at, Contains(HasSubstr("stylus")));
}

TEST(CheckBench, SeesSpeedThatDrifts) {
  auto plays = still_bench(20, 1);
  for (std::size_t k = 0; k < plays.size(); ++k)
    plays[k].alignment->speed_error_ppm += 20.0 * static_cast<double>(k);
  const auto check = check_bench(plays, {});
  ASSERT_TRUE(check);
  const auto& speed = of(*check, "alignment.speed_error_ppm");
  EXPECT_TRUE(speed.moved);
  EXPECT_GT(*speed.drift_low, 0.0);
  EXPECT_LT(*speed.drift_low, 20.0);
  EXPECT_GT(*speed.drift_high, 20.0);
  EXPECT_THAT(check->look_at, Contains(HasSubstr("belt")));
}

TEST(CheckBench, DriftCountsByTheDaysGiven) {
  auto plays = still_bench(8, 4);
  std::vector<double> day;
  for (std::size_t k = 0; k < plays.size(); ++k) {
    day.push_back(static_cast<double>(k * k));
    plays[k].alignment->speed_error_ppm = 5.0 * day[k];
  }
  const auto check = check_bench(plays, {.day = day});
  ASSERT_TRUE(check) << check.error().text;
  EXPECT_NEAR(*of(*check, "alignment.speed_error_ppm").drift_per_day, 5.0, 1e-9);
}

TEST(CheckBench, AnEightInARowIsAMoveEachPlayAloneDoesNotShow) {
  auto plays = still_bench(28, 3);
  for (std::size_t k = 20; k < plays.size(); ++k) {
    plays[k].noise.weighted_dB = -60.0 + 0.3 * (k % 2 == 0 ? 1.0 : 1.4);
  }
  const auto check = check_bench(plays, {.day = {}, .first_plays = 20});
  ASSERT_TRUE(check);
  const auto& noise = of(*check, "noise.weighted_dB");
  EXPECT_TRUE(noise.outside.empty());
  EXPECT_TRUE(noise.moved);
}

// The chart is the handbook's: NIST/SEMATECH 6.3.2.2, flow rate of ten batches (from memory), here
// as noise.
TEST(CheckBench, StandsOnTheHandbooksChart) {
  const std::vector flow{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1, 52.0};
  std::vector<ListeningReport> plays;
  for (const double value : flow) {
    plays.push_back(test::clean_play("play"));
    plays.back().noise.weighted_dB = value;
  }
  const auto check = check_bench(plays, {.day = {}, .first_plays = 10});
  ASSERT_TRUE(check);
  const auto& chart = of(*check, "noise.weighted_dB");
  EXPECT_NEAR(chart.centre, 50.81, 5e-3);
  EXPECT_GE(chart.high, 55.8041 - 2e-3);
  EXPECT_LE(chart.low, 45.8159 + 2e-3);
  EXPECT_NEAR(chart.repeatability, 2.0338523927649117, 1e-9);
  EXPECT_FALSE(chart.moved);
}

TEST(CheckBench, RefusesWhatCannotBeCharted) {
  const auto plays = still_bench(8, 1);
  const auto refusal = [](const auto& some, CheckDiscOptions options = {}) {
    const auto check = check_bench(some, options);
    return check ? std::string{"taken"} : check.error().text;
  };
  EXPECT_THAT(refusal(std::span{plays}.first(5)), HasSubstr("6 are needed"));
  auto other = plays;
  other[3].reference->file.sha256 = "another";
  EXPECT_THAT(refusal(other), HasSubstr("play 4"));
  EXPECT_THAT(refusal(plays, {.day = {1, 2, 3}}), HasSubstr("3 days for 8 plays"));
  EXPECT_THAT(refusal(plays, {.day = {0, 1, 2, 2, 3, 4, 5, 6}}), HasSubstr("do not grow"));
  EXPECT_THAT(refusal(plays, {.day = {}, .first_plays = 8}), HasSubstr("leaves one to judge"));
}

}  // namespace
}  // namespace goodside::listen
