#include "trace/turnbull.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "trace/published_lives.hpp"

namespace goodside::trace {
namespace {

void expect_curve(const std::vector<ObservedLife>& lives,
                  double log_likelihood,
                  const std::vector<works::LifeStep>& published) {
  const auto curve = turnbull(lives);
  ASSERT_TRUE(curve) << curve.error().text;
  EXPECT_LE(curve->gap, 1e-7);
  EXPECT_NEAR(curve->log_likelihood, log_likelihood, 1e-6);
  ASSERT_EQ(curve->steps.size(), published.size());
  for (std::size_t j = 0; j < published.size(); ++j) {
    EXPECT_EQ(curve->steps[j].above_closings, published[j].above_closings);
    EXPECT_EQ(curve->steps[j].to_closings, published[j].to_closings);
    // The likelihood is within 1e-7 of its best, so a share is within the root of that.
    EXPECT_NEAR(curve->steps[j].share, published[j].share, 5e-5) << published[j].above_closings;
  }
}

// Published: R 4.2.2, survival 3.5-3, data as survfit takes them; the shares are iterated on, since
// survfit stops within 4e-4 of them: tests/published/lives/values.R.
TEST(Turnbull, AgreesWithSurvivalOnRadiotherapy) {
  expect_curve(lives_of_intervals(published::radiotherapy),
               -58.06002195,
               {{4, 5, 0.04634677},
                {6, 7, 0.03336337},
                {7, 8, 0.08866737},
                {11, 12, 0.07075292},
                {24, 25, 0.09264584},
                {33, 34, 0.08178576},
                {38, 40, 0.12087983},
                {46, 48, 0.46555814}});
}

TEST(Turnbull, AgreesWithSurvivalOnTheCrackedWheels) {
  expect_curve(lives_of_inspections(published::cracked_wheels),
               -184.9881534,
               {{4, 10, 0.06976744},
                {14, 18, 0.02612297},
                {18, 22, 0.07077626},
                {22, 26, 0.05555556},
                {30, 34, 0.23931624},
                {34, 38, 0.11954262},
                {42, 46, 0.00225225},
                {46, never, 0.41666667}});
}

// Published: J. P. Klein, M. L. Moeschberger, Survival Analysis, 1997, example 5.4, the share still
// good after radiotherapy (from memory).
TEST(Turnbull, AgreesWithKleinAndMoeschberger) {
  const auto curve = turnbull(lives_of_intervals(published::radiotherapy));
  ASSERT_TRUE(curve);
  struct Row {
    double age, good;
  };
  for (const auto& [age, good] :
       {Row{5, 0.954}, Row{8, 0.832}, Row{12, 0.761}, Row{25, 0.668}, Row{34, 0.586}})
    EXPECT_NEAR(1.0 - curve->least_ended(age), good, 0.0006) << age;
}

// Second road: with each looked at once, the curve is the isotonic regression of the shares found
// (Ayer and others, Annals Math. Statistics 26, 1955), by pooling neighbours that run downwards.
TEST(Turnbull, IsTheIsotonicRegressionOfSingleLooks) {
  struct Block {
    double cracked, inspected, last;
  };
  std::vector<Block> blocks;
  for (const auto& [age, inspected, cracked] : published::cracked_wheels) {
    blocks.push_back({static_cast<double>(cracked), static_cast<double>(inspected), age});
    while (blocks.size() > 1) {
      auto& low = blocks[blocks.size() - 2];
      const auto& high = blocks.back();
      if (low.cracked / low.inspected < high.cracked / high.inspected) break;
      low = {low.cracked + high.cracked, low.inspected + high.inspected, high.last};
      blocks.pop_back();
    }
  }
  const auto curve = turnbull(lives_of_inspections(published::cracked_wheels));
  ASSERT_TRUE(curve);
  for (const auto& block : blocks)
    EXPECT_NEAR(curve->least_ended(block.last), block.cracked / block.inspected, 5e-5);
}

// Published: R 4.2.2, survival 3.5-3, survfit(Surv(futime, fustat) ~ 1, ovarian): with exact ends it
// is Kaplan and Meier's curve.
TEST(Turnbull, IsKaplanAndMeiersCurveForExactEnds) {
  const auto curve = turnbull(lives_of_watched(published::ovarian_trial));
  ASSERT_TRUE(curve);
  struct Row {
    double age, good;
  };
  for (const auto& [age, good] :
       {Row{59, 0.961538}, Row{365, 0.730769}, Row{431, 0.687783}, Row{638, 0.496732}}) {
    EXPECT_NEAR(1.0 - curve->least_ended(age), good, 5e-5) << age;
    EXPECT_NEAR(1.0 - curve->most_ended(age), good, 5e-5) << age;
  }
}

// Property: shares are shares, and no other curve on the same stretches fits better.
TEST(Turnbull, NoOtherCurveFitsBetter) {
  const auto lives = lives_of_intervals(published::with_chemotherapy);
  const auto curve = turnbull(lives);
  ASSERT_TRUE(curve);
  const auto fit = [&](const std::vector<works::LifeStep>& steps) {
    double sum = 0.0;
    for (const auto& life : lives) {
      double chance = 0.0;
      for (const auto& step : steps)
        if (life.above <= step.above_closings && step.to_closings <= life.to) chance += step.share;
      sum += std::log(chance);
    }
    return sum;
  };
  double total = 0.0;
  for (const auto& step : curve->steps) total += step.share;
  EXPECT_NEAR(total, 1.0, 1e-6);
  EXPECT_NEAR(fit(curve->steps), curve->log_likelihood, 1e-6);
  for (std::size_t i = 0; i < curve->steps.size(); ++i)
    for (std::size_t j = 0; j < curve->steps.size(); ++j) {
      auto other = curve->steps;
      const double moved = 0.3 * other[i].share;
      other[i].share -= moved;
      other[j].share += moved;
      EXPECT_LE(fit(other), curve->log_likelihood + 1e-6);
    }
}

TEST(Turnbull, NoLivesAreRefused) {
  const auto curve = turnbull({});
  ASSERT_FALSE(curve);
  EXPECT_EQ(curve.error().fault, Fault::bad_input);
}

}  // namespace
}  // namespace goodside::trace
