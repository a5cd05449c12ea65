#include "plan/renewal.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "stats/discrete.hpp"
#include "stats/poisson.hpp"

namespace goodside::plan {
namespace {

LifeLaw weibull(double scale, double shape) {
  return {.causes = {{.scale_closings = scale, .shape = shape}}};
}

class Uniform {
 public:
  explicit Uniform(std::uint64_t seed) : engine_{seed} {}
  double operator()() { return (static_cast<double>(engine_() >> 11U) + 0.5) * 0x1p-53; }

 private:
  std::mt19937_64 engine_;
};

// Closed form: with an even risk the ends are a Poisson process, and k lives are not enough where k or
// more fall within T.
TEST(Renewal, OfAnEvenRiskIsPoisson) {
  for (const double closings : {300.0, 3000.0, 20000.0, 200000.0}) {
    const StamperSupply supply{weibull(1000.0, 1.0), closings, 260};
    for (const int k : {1, 2, 3, 5, 10, 20, 30, 180, 200, 220})
      EXPECT_NEAR(1.0 - supply.enough(k, closings), stats::poisson_tail(k, closings / 1000.0), 2e-4)
          << k << " in " << closings;
  }
}

// Second road: two Weibull lives by the convolution's integral, on a grid of its own.
TEST(Renewal, OfTwoLivesIsTheIntegral) {
  const LifeLaw law = weibull(1376.0, 3.04);
  const StamperSupply supply{law, 4000.0, 3};
  for (const double closings : {800.0, 1900.0, 2500.0, 3300.0}) {
    constexpr int cells = 20000;
    double short_of = 0.0, from = 1.0;
    for (int i = 1; i <= cells; ++i) {
      const double next = law.survival(closings * i / cells);
      short_of += (from - next) * (1.0 - law.survival(closings * (cells - i + 0.5) / cells));
      from = next;
    }
    EXPECT_NEAR(1.0 - supply.enough(2, closings), short_of, 2e-5) << closings;
  }
}

// Closed form: the sum of k lives of an even risk is gamma of shape k, at every threshold.
TEST(Renewal, ManyThresholdsOfOneSupplyAreGammas) {
  const StamperSupply supply{weibull(500.0, 1.0), 6000.0, 12};
  for (const int k : {1, 4, 12})
    for (const double closings : {1.0, 250.0, 1800.0, 6000.0})
      EXPECT_NEAR(1.0 - supply.enough(k, closings), stats::gamma_cdf(closings / 500.0, k), 2e-4);
}

// Closed form: stampers that all reach the pull limit give it exactly; with a chance q each, binomial.
TEST(Renewal, PulledAtALimit) {
  LifeLaw law = weibull(1e8, 1.0);
  law.pull_closings = 1000.0;
  const StamperSupply sure{law, 3000.0, 4};
  EXPECT_NEAR(sure.enough(3, 3000.0), 1.0, 1e-4);
  EXPECT_NEAR(sure.enough(3, 2999.0), 1.0, 1e-4);
  EXPECT_NEAR(sure.enough(2, 2001.0), 0.0, 1e-4);
  // Half of them end at once, half at the limit, nearly: 3 of 5 or more must reach it.
  law.causes = {{.scale_closings = 1.0, .shape = 0.1}};
  const double q = LifeLaw{.causes = law.causes}.survival(1000.0);
  EXPECT_GT(q, 0.1);
  Uniform draw{5};
  constexpr int runs = 200'000;
  const StamperSupply supply{law, 3000.0, 6};
  int lasted = 0;
  for (int r = 0; r < runs; ++r) {
    double sum = 0.0;
    for (int k = 0; k < 6; ++k) sum += std::min(1000.0, std::pow(-std::log(draw()), 10.0));
    lasted += sum >= 2500.0 ? 1 : 0;
  }
  const double share = static_cast<double>(lasted) / runs;
  EXPECT_NEAR(
      supply.enough(6, 2500.0), share, 4.0 * std::sqrt(share * (1.0 - share) / runs) + 2e-4);
}

// Published (simulated, 20,000 runs each; +-0.01 in the mean): ten lives fitted with scale 1376.0 and
// shape 3.042: N 1000, 3000 and 10000 take 1.32, 3.01 and 8.71 stampers in the mean, 2, 4 and 10 at 95 %.
TEST(Renewal, StampersForARun) {
  const LifeLaw law = weibull(1375.991963, 3.042056793);
  struct Row {
    double impressions, mean;
    int most;
  };
  for (const Row& row : {Row{1000.0, 1.32, 2}, Row{3000.0, 3.01, 4}, Row{10000.0, 8.71, 10}}) {
    const StamperSupply supply{law, row.impressions, 20};
    double mean = 1.0;
    int at_95 = 0;
    for (int k = 1; k <= 20; ++k) {
      const double enough = supply.enough(k, row.impressions);
      mean += 1.0 - enough;
      if (at_95 == 0 && enough >= 0.95) at_95 = k;
    }
    EXPECT_NEAR(mean, row.mean, 0.02) << row.impressions;
    EXPECT_EQ(at_95, row.most) << row.impressions;
  }
}

struct Simulated {
  double lasted{}, whole{};
};
/// Runs of a pair with `a` and `b` stampers, warm-up and unnoticed discs as they come; and pairs that
/// are scrapped whole.
Simulated simulate(
    const LifeLaw& law, const StamperDemand& demand, int a, int b, int pairs, int runs) {
  Uniform draw{20261126};
  const auto life = [&] {
    const auto& cause = law.causes.front();
    return cause.scale_closings * std::pow(-std::log(draw()), 1.0 / cause.shape);
  };
  Simulated all;
  for (int r = 0; r < runs; ++r) {
    double good = 0.0, left_a = life(), left_b = life();
    int used_a = 1, used_b = 1;
    double warm = demand.warm_up;
    while (good < demand.impressions) {
      const double stretch = std::min({left_a, left_b, warm + demand.impressions - good});
      good += std::max(0.0, stretch - warm);
      warm = std::max(0.0, warm - stretch);
      left_a -= stretch;
      left_b -= stretch;
      if (good >= demand.impressions - 1e-9) break;
      if (left_a <= 1e-9) {
        if (++used_a > a) break;
        left_a = life();
        left_b -= demand.unnoticed;
      } else {
        if (++used_b > b) break;
        left_b = life();
        left_a -= demand.unnoticed;
      }
      warm = demand.warm_up;
      left_a = std::max(left_a, 0.0);
      left_b = std::max(left_b, 0.0);
    }
    all.lasted += good >= demand.impressions - 1e-9 ? 1.0 / runs : 0.0;
    double made = 0.0;
    for (int k = 0; k < pairs; ++k)
      made += std::max(0.0, std::min(life(), life()) - demand.warm_up);
    all.whole += made >= demand.impressions ? 1.0 / runs : 0.0;
  }
  return all;
}

// Second road: a simulated press. Without overhead the chance is exact; with it it is the least.
TEST(StamperNeed, IsWhatASimulatedPressSays) {
  const LifeLaw law = weibull(1200.0, 2.0);
  constexpr int runs = 20000;
  for (const double impressions : {2000.0, 6000.0})
    for (const double warm_up : {0.0, 8.0}) {
      const StamperDemand demand{
          .impressions = impressions, .warm_up = warm_up, .unnoticed = 4.0 * warm_up};
      const auto need = stamper_need({{1.0, law}}, demand, {100.0, 900.0}, 0.95);
      ASSERT_TRUE(need);
      const auto& chosen = need->chosen;
      EXPECT_GE(chosen.enough, 0.95);
      EXPECT_LE(std::abs(chosen.a - chosen.b), 1);
      const Simulated said = simulate(law, demand, chosen.a, chosen.b, need->whole_pairs, runs);
      const double sigma = std::sqrt(0.05 * 0.95 / runs);
      EXPECT_GT(said.lasted, chosen.enough - 4.0 * sigma - 2e-4);
      EXPECT_LT(said.lasted, chosen.enough + (warm_up > 0.0 ? 0.03 : 4.0 * sigma + 2e-4));
      // Scrapping pairs whole overstates the need.
      EXPECT_EQ(need->good_a + need->good_b, chosen.all());
      EXPECT_GT(2 * need->whole_pairs, chosen.all());
      if (warm_up <= 0.0) {
        EXPECT_GT(said.whole, 0.95 - 4.0 * sigma);
      }
      // One stamper fewer does not keep the chance.
      for (const auto& one : need->around) {
        if (one.all() < chosen.all()) {
          EXPECT_LT(one.enough, 0.95);
        }
      }
    }
}

// Closed form: with an even risk the wanting beyond k are a Poisson number's; one stamper more is worth
// its cost as long as a shortage is likelier than their ratio (the newsvendor's rule).
TEST(StamperNeed, TheCheapestNumberIsTheNewsvendors) {
  const double impressions = 4000.0, life = 1000.0, cost = 120.0, shortage = 480.0;
  const auto need = stamper_need(
      {{1.0, weibull(life, 1.0)}}, {.impressions = impressions}, {cost, shortage}, 0.9);
  ASSERT_TRUE(need);
  const auto wanting = [&](int good) {
    double sum = 0.0;
    for (int k = good; k < 60; ++k) sum += stats::poisson_tail(k, impressions / life);
    return sum;
  };
  for (const auto& one : need->around) {
    EXPECT_NEAR(one.missing, wanting(one.a) + wanting(one.b), 2e-3) << one.all();
    EXPECT_NEAR(one.cost, one.all() * cost + one.missing * (cost + shortage), 1e-9);
    EXPECT_GE(one.cost, need->cheapest.cost);
  }
  // The last one on a side still pays, the next does not.
  const double ratio = cost / (cost + shortage);
  const int least = std::min(need->cheapest.a, need->cheapest.b);
  EXPECT_GT(stats::poisson_tail(least - 1, impressions / life), ratio - 2e-3);
  EXPECT_LT(stats::poisson_tail(least + 1, impressions / life), ratio + 2e-3);
  EXPECT_NEAR(need->used_a, 1.0 + impressions / life, 2e-3);
}

// Second road: begun ones come out good by tossing; what is in the house counts.
TEST(StamperNeed, YieldAndWhatIsInTheHouse) {
  const LifeLaw law = weibull(1200.0, 2.0);
  StamperDemand demand{.impressions = 3000.0, .hand_a = 2, .hand_b = 0, .yield = 0.8};
  const auto need = stamper_need({{1.0, law}}, demand, {100.0, 500.0}, 0.9);
  ASSERT_TRUE(need);
  EXPECT_LT(need->chosen.a, need->chosen.b);
  Uniform draw{9};
  constexpr int runs = 40000;
  int lasted = 0;
  for (int r = 0; r < runs; ++r) {
    double least = 1e9;
    for (const auto& [hand, begun] : {std::pair{2, need->chosen.a}, std::pair{0, need->chosen.b}}) {
      int good = hand;
      for (int k = 0; k < begun; ++k) good += draw() < 0.8 ? 1 : 0;
      double sum = 0.0;
      for (int k = 0; k < good; ++k) sum += 1200.0 * std::sqrt(-std::log(draw()));
      least = std::min(least, sum);
    }
    lasted += least >= 3000.0 ? 1 : 0;
  }
  EXPECT_NEAR(
      need->chosen.enough, static_cast<double>(lasted) / runs, 4.0 * std::sqrt(0.09 / runs));
}

// Property: a belief that is unsure of the law asks for more stampers than its middle alone; one with an
// aged stamper on the press for no fewer.
TEST(StamperNeed, DoubtAndAgeAskForMore) {
  const StamperDemand demand{.impressions = 5000.0};
  const auto sure = stamper_need({{1.0, weibull(1200.0, 2.0)}}, demand, {1.0, 1.0}, 0.95);
  const auto unsure = stamper_need(
      {{0.3, weibull(700.0, 2.0)}, {0.4, weibull(1200.0, 2.0)}, {0.3, weibull(2000.0, 2.0)}},
      demand,
      {1.0, 1.0},
      0.95);
  StamperDemand aged = demand;
  aged.hand_a = 1;
  aged.age_a = 900.0;
  StamperDemand new_one = demand;
  new_one.hand_a = 1;
  const auto unworn = stamper_need({{1.0, weibull(1200.0, 2.0)}}, new_one, {1.0, 1.0}, 0.95);
  const auto worn = stamper_need({{1.0, weibull(1200.0, 2.0)}}, aged, {1.0, 1.0}, 0.95);
  ASSERT_TRUE(sure && unsure && worn && unworn);
  EXPECT_GT(unsure->chosen.a + unsure->chosen.b, sure->chosen.a + sure->chosen.b + 2);
  EXPECT_EQ(unworn->chosen.all(), sure->chosen.all() - 1);
  EXPECT_GE(worn->chosen.all(), unworn->chosen.all());
  const StamperSupply fresh{weibull(1200.0, 2.0), 500.0, 1},
      old{weibull(1200.0, 2.0), 500.0, 1, 900.0};
  EXPECT_NEAR(old.enough(1, 500.0),
              std::exp(std::pow(900.0 / 1200.0, 2.0) - std::pow(1400.0 / 1200.0, 2.0)),
              1e-4);
  EXPECT_LT(old.enough(1, 500.0), fresh.enough(1, 500.0));
}

TEST(StamperNeed, RefusesWhatCannotBe) {
  const LifeBelief belief{{1.0, weibull(1200.0, 2.0)}};
  EXPECT_FALSE(stamper_need(belief, {.impressions = NAN}, {}, 0.95));
  EXPECT_FALSE(stamper_need(belief, {.impressions = 1e9}, {}, 0.95));
  EXPECT_FALSE(stamper_need(belief, {.impressions = 1000.0, .warm_up = 2000.0}, {}, 0.95));
  EXPECT_FALSE(stamper_need(belief, {.impressions = 1000.0}, {}, 1.0));
  EXPECT_FALSE(stamper_need(belief, {.impressions = 1000.0, .yield = 0.0}, {}, 0.95));
  EXPECT_FALSE(stamper_need({{1.0, weibull(1200.0, 0.0)}}, {.impressions = 1000.0}, {}, 0.9));
}

// Published: SciPy 1.10.1: the least n with binom.sf(w - 1, n, p) >= c.
TEST(StartsFor, IsTheNegativeBinomialsQuantile) {
  EXPECT_EQ(starts_for(5, 0.85, 0.95), 8);
  EXPECT_EQ(starts_for(1, 0.9, 0.99), 2);
  EXPECT_EQ(starts_for(500, 0.97, 0.95), 522);
  EXPECT_EQ(starts_for(0, 0.5, 0.9), 0);
  // Learned from 97 good of 100 the share is not sure, and more are started.
  EXPECT_GT(stats::trials_for({.wanted = 500, .confidence = 0.95, .seen_good = 97, .seen_bad = 3}),
            523);
}

}  // namespace
}  // namespace goodside::plan
