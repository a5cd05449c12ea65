#include "trace/pull_limit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace goodside::trace {
namespace {

WeibullLaw law(double scale, double shape) {
  return {.log_scale = std::log(scale), .log_spread = -std::log(shape)};
}

PullCosts costs(double planned, double failed) {
  return {.planned_change = planned, .failures = {{.change = failed}}};
}

// Published (closed form, Barlow and Proschan 1965, chapter 4, from memory): at the cheapest limit
//   h(T) integral over (0, T) of S  -  F(T) = planned / (failed - planned),
// and the cost per disc is (failed - planned) h(T). For shape 2 the integral is
// scale sqrt(pi)/2 erf(T / scale).
TEST(PullLimit, MeetsTheRenewalCondition) {
  const double scale = 1200.0;
  for (const double failed : {3.0, 10.0, 40.0}) {
    const auto limit = pull_limit(std::vector{law(scale, 2.0)}, costs(1.0, failed));
    ASSERT_TRUE(limit);
    ASSERT_TRUE(limit->closings);
    const double T = *limit->closings, hazard = 2.0 * T / (scale * scale);
    const double use = scale * std::sqrt(std::acos(-1.0)) / 2.0 * std::erf(T / scale);
    EXPECT_NEAR(
        hazard * use + std::expm1(-T * T / scale / scale), 1.0 / (failed - 1.0), 1e-4 / failed);
    EXPECT_NEAR(limit->cost_per_disc, (failed - 1.0) * hazard, 1e-4 * limit->cost_per_disc);
    EXPECT_NEAR(limit->cost_per_disc_unpulled,
                failed / (scale * std::tgamma(1.5)),
                1e-8 * limit->cost_per_disc_unpulled);
    ASSERT_TRUE(limit->low_closings && limit->high_closings);
    EXPECT_NEAR(
        cost_per_disc(std::vector{law(scale, 2.0)}, costs(1.0, failed), *limit->low_closings),
        1.01 * limit->cost_per_disc,
        1e-8);
    EXPECT_LT(*limit->low_closings, T);
    EXPECT_GT(*limit->high_closings, T);
  }
}

// Property: what does not grow worse with age, or costs no more failed than changed, is not pulled.
TEST(PullLimit, IsNoneWherePullingCannotPay) {
  for (const double shape : {0.7, 1.0}) {
    const auto limit = pull_limit(std::vector{law(1000.0, shape)}, costs(1.0, 50.0));
    ASSERT_TRUE(limit);
    EXPECT_FALSE(limit->closings) << shape;
    EXPECT_EQ(limit->cost_per_disc, limit->cost_per_disc_unpulled);
  }
  const auto same = pull_limit(std::vector{law(1000.0, 3.0)}, costs(5.0, 5.0));
  ASSERT_TRUE(same);
  EXPECT_FALSE(same->closings);
}

// Property: scrapped discs cost what as much money costs.
TEST(PullLimit, CountsScrappedDiscsAsMoney) {
  const auto money = pull_limit(std::vector{law(900.0, 2.5)}, costs(2.0, 26.0));
  const auto discs = pull_limit(std::vector{law(900.0, 2.5)},
                                PullCosts{.planned_change = 2.0,
                                          .disc = 0.5,
                                          .failures = {{.change = 6.0, .scrapped_discs = 40.0}}});
  ASSERT_TRUE(money && discs);
  EXPECT_DOUBLE_EQ(*money->closings, *discs->closings);
}

// Second road: a press run of two million discs, stamper after stamper, two causes, fixed seed.
TEST(PullLimit, CostPerDiscIsThatOfALongRun) {
  const std::vector laws{law(1100.0, 3.0), law(4000.0, 1.0)};
  const PullCosts of{.planned_change = 1.0, .failures = {{.change = 6.0}, {.change = 15.0}}};
  const double age = 700.0;
  std::mt19937_64 draw{11};
  std::uniform_real_distribution<double> even{0.0, 1.0};
  double discs = 0.0, spent = 0.0, squares = 0.0;
  const double expected = cost_per_disc(laws, of, age);
  int stampers = 0;
  for (; discs < 2e6; ++stampers) {
    const double wear = laws[0].age(-std::log(even(draw))),
                 crack = laws[1].age(-std::log(even(draw)));
    const double use = std::min({age, wear, crack});
    const double cost = use == age ? 1.0 : use == wear ? 6.0 : 15.0;
    discs += use;
    spent += cost;
    squares += std::pow(cost - expected * use, 2);
  }
  // Four standard errors of the ratio.
  EXPECT_NEAR(spent / discs, expected, 4.0 * std::sqrt(squares) / discs);
}

// Property: every stamper ends by one of the causes.
TEST(PullLimit, CausesShareAllEnds) {
  const std::vector laws{law(1100.0, 3.0), law(4000.0, 0.6), law(900.0, 1.0)};
  EXPECT_NEAR(
      ended_by(laws, 0, never) + ended_by(laws, 1, never) + ended_by(laws, 2, never), 1.0, 1e-7);
}

TEST(PullLimit, ImpossibleCostsAreRefused) {
  EXPECT_EQ(pull_limit(std::vector{law(900, 2)}, costs(-1.0, 5.0)).error().fault,
            Fault::out_of_range);
  EXPECT_EQ(pull_limit(std::vector{law(900, 2)}, costs(0.0, 5.0)).error().fault,
            Fault::out_of_range);
  EXPECT_EQ(pull_limit(std::vector{law(900, 2)}, costs(1.0, std::nan(""))).error().fault,
            Fault::out_of_range);
}

}  // namespace
}  // namespace goodside::trace
