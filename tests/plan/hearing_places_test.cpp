#include "plan/hearing_places.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

namespace goodside::plan {
namespace {

std::function<double(double)> weibull(double scale, double shape) {
  return [=](double closings) { return std::exp(-std::pow(closings / scale, shape)); };
}

// Second road: every way to place samples in a short run.
TEST(HearingPlaces, AreTheCheapestOfAllWays) {
  const WatchedRun run{.impressions = 12,
                       .still_good = weibull(20.0, 2.0),
                       .behind = 1,
                       .hearing_cost = 2.0,
                       .disc_cost = 8.0,
                       .search_cost = 0.5};
  double best = std::numeric_limits<double>::infinity();
  std::vector<std::int64_t> best_at;
  for (unsigned set = 0; set < (1U << 11U); ++set) {
    std::vector<std::int64_t> at;
    for (unsigned k = 0; k < 11; ++k)
      if ((set >> k & 1U) != 0) at.push_back(k + 1);
    at.push_back(12);
    if (const double cost = cost_of_places(run, at).cost; cost < best) {
      best = cost;
      best_at = at;
    }
  }
  const auto places = hearing_places(run);
  ASSERT_TRUE(places);
  EXPECT_NEAR(places->cost, best, 1e-12);
  EXPECT_EQ(places->at, best_at);
  EXPECT_GT(best_at.size(), 1U);
  EXPECT_LT(best_at.size(), 12U);
}

// Second road: simulation of the same run.
TEST(HearingPlaces, CostWhatASimulationSays) {
  const WatchedRun run{.impressions = 600,
                       .still_good = weibull(900.0, 1.5),
                       .behind = 45,
                       .hearing_cost = 12.0,
                       .disc_cost = 1.5};
  const auto places = hearing_places(run);
  ASSERT_TRUE(places);
  std::mt19937_64 engine{20261126};
  constexpr int runs = 40'000;
  double heard = 0.0, flawed = 0.0, damaged = 0.0, square = 0.0;
  for (int r = 0; r < runs; ++r) {
    const double u = (static_cast<double>(engine() >> 11U) + 0.5) * 0x1p-53;
    const double life = 900.0 * std::pow(-std::log(u), 1.0 / 1.5);
    const auto onset = static_cast<std::int64_t>(std::ceil(life));
    if (onset > run.impressions) {
      heard += static_cast<double>(places->at.size());
      continue;
    }
    damaged += 1.0;
    const auto found = std::ranges::lower_bound(places->at, onset);
    heard += static_cast<double>(found - places->at.begin() + 1);
    const auto made =
        static_cast<double>(std::min(*found + run.behind, run.impressions) - onset + 1);
    flawed += made;
    square += made * made;
  }
  const double sigma = std::sqrt(square / runs / runs);
  EXPECT_NEAR(flawed / runs, places->flawed_mean, 4.0 * sigma);
  EXPECT_NEAR(damaged / runs, places->damage_chance, 4.0 * std::sqrt(0.25 / runs));
  EXPECT_NEAR(heard / runs, places->heard_mean, 0.05);
}

// Property: an even risk asks for even gaps, a rising one for narrower and narrower; neither costs more
// than even places; a dearer disc brings more samples.
TEST(HearingPlaces, StandCloserWhereTheRiskIsGreater) {
  WatchedRun run{.impressions = 1500,
                 .still_good = weibull(1200.0, 3.0),
                 .behind = 40,
                 .hearing_cost = 12.0,
                 .disc_cost = 1.5};
  const auto rising = hearing_places(run);
  ASSERT_TRUE(rising);
  ASSERT_GT(rising->at.size(), 4U);
  EXPECT_GT(rising->at[0], 2 * (rising->at[3] - rising->at[2]));
  EXPECT_LT(rising->cost, 0.9 * even_places(run, rising->at.size()).cost);
  run.disc_cost = 15.0;
  EXPECT_GT(hearing_places(run)->at.size(), rising->at.size());
  run.still_good = weibull(100000.0, 1.0);
  run.behind = 0;
  const auto even = hearing_places(run);
  ASSERT_TRUE(even);
  ASSERT_GT(even->at.size(), 2U);
  EXPECT_NEAR(static_cast<double>(even->at[0]),
              static_cast<double>(even->at[1] - even->at[0]),
              0.1 * static_cast<double>(even->at[0]));
}

TEST(HearingPlaces, KeepTheBoundAndTheListenersPace) {
  WatchedRun run{.impressions = 5000,
                 .still_good = weibull(20000.0, 1.0),
                 .behind = 50,
                 .least_gap = 50,
                 .most_flawed = 200,
                 .hearing_cost = 12.0,
                 .disc_cost = 0.01};
  const auto places = hearing_places(run);
  ASSERT_TRUE(places);
  std::int64_t before = 0;
  for (const std::int64_t at : places->at) {
    EXPECT_LE(at - before + run.behind, run.most_flawed);
    if (at != 5000) {
      EXPECT_GE(at - before, run.least_gap);
    }
    before = at;
  }
  run.most_flawed = 99;
  const auto refused = hearing_places(run);
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().text.find("100 is the least"), std::string::npos);
  run.most_flawed = 0;
  run.hearing_cost = NAN;
  EXPECT_FALSE(hearing_places(run));
}

}  // namespace
}  // namespace goodside::plan
