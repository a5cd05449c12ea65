#include "line/life_belief.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace goodside::line {
namespace {

std::vector<works::StamperLife> lives_of(std::initializer_list<std::pair<double, bool>> ages) {
  std::vector<works::StamperLife> lives;
  for (const auto& [age, ended] : ages) {
    works::StamperLife life;
    life.stamper = "S" + std::to_string(lives.size());
    life.good_to_closings = age;
    if (ended) life.ended_by_closings = age;
    lives.push_back(life);
  }
  return lives;
}

struct Moments {
  double mean{}, variance{}, weight{};
};
Moments of_log_scale(const plan::LifeBelief& belief) {
  Moments moments;
  for (const auto& [weight, law] : belief) {
    moments.weight += weight;
    moments.mean += weight * std::log(law.causes.front().scale_closings);
  }
  for (const auto& [weight, law] : belief) {
    const double off = std::log(law.causes.front().scale_closings) - moments.mean;
    moments.variance += weight * off * off;
  }
  return moments;
}

// Published: R 4.2.2, survival 3.5-3, survreg of ten stampers, seven ended (a toy set): scale 1375.99,
// variance of its logarithm 0.01557 by the information at the best fit. A flat prior's posterior lies about
// the same place and is somewhat wider.
TEST(LifeBelief, LiesAboutTheBestFitAndAsWideAsItsInformation) {
  const auto belief = life_belief(lives_of({{810, true},
                                            {1250, true},
                                            {640, true},
                                            {1500, false},
                                            {1500, false},
                                            {990, true},
                                            {1180, true},
                                            {1500, false},
                                            {720, true},
                                            {1340, true}}));
  ASSERT_TRUE(belief);
  const Moments moments = of_log_scale(*belief);
  EXPECT_NEAR(moments.weight, 1.0, 1e-12);
  EXPECT_NEAR(moments.mean, std::log(1375.99), std::sqrt(0.0156));
  EXPECT_GT(moments.variance, 0.0156);
  EXPECT_LT(moments.variance, 2.0 * 0.0156);
}

// Closed form: with the shape held at 1 the likelihood of the rate is gamma, so that with a flat prior on
// the log scale its logarithm has the mean ln(total) - digamma(r) and the variance trigamma(r); r = 2.
TEST(LifeBelief, OfTwoEndsIsTheGammaOfTheirTotal) {
  const auto belief = life_belief(lives_of({{700, true}, {900, true}, {1400, false}}));
  ASSERT_TRUE(belief);
  const Moments moments = of_log_scale(*belief);
  EXPECT_NEAR(moments.mean, std::log(3000.0) - 0.42278434, 0.05);
  EXPECT_NEAR(moments.variance, 0.64493407, 0.08);
  for (const auto& one : *belief) EXPECT_DOUBLE_EQ(one.law.causes.front().shape, 1.0);
}

TEST(LifeBelief, AsksForALawWhereNothingHasEnded) {
  const auto refused = life_belief(lives_of({{500, false}}));
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().text.find("--life-scale"), std::string::npos);
}

}  // namespace
}  // namespace goodside::line
