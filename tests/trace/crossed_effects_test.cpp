#include "trace/crossed_effects.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <tuple>

#include "published/spread/mixed.hpp"

namespace goodside::trace {
namespace {

void put(CrossedModel& model, std::size_t k, int level) {
  if (model.factors.size() <= k) model.factors.resize(k + 1);
  model.factors[k].level.push_back(level);
  model.factors[k].levels = std::max(model.factors[k].levels, level + 1);
}

template <class Rows>
CrossedModel one_group(const Rows& rows) {
  CrossedModel model;
  for (const auto& [group, value] : rows) {
    put(model, 0, group);
    model.values.push_back(value);
  }
  model.fixed.emplace_back(model.values.size(), 1.0);
  return model;
}

template <class Rows>
CrossedModel two_groups(const Rows& rows) {
  CrossedModel model;
  for (const auto& [first, second, value] : rows) {
    put(model, 0, first);
    put(model, 1, second);
    model.values.push_back(value);
  }
  model.fixed.emplace_back(model.values.size(), 1.0);
  return model;
}

struct Case {
  const char* name;
  CrossedModel model;
  double criterion, mean;
  std::vector<Variance> variances;
};

// Published: R 4.2.2, lme4 1.1-31: REMLcrit, fixef and VarCorr of lmer, searched to the end; intervals of 95 % from the
// profile of the restricted likelihood written out in R: tests/published/spread/values.R.
std::vector<Case> cases() {
  return {
      {"Dyestuff",
       one_group(published::dyestuff),
       319.654277,
       1527.5,
       {{1764.0499, 245.148, 10214.4}, {2451.25, 1461.54, 4577.56}}},
      {"Dyestuff2",
       one_group(published::dyestuff2),
       161.828278,
       5.6656,
       {{0.0, 0.0, 6.32031}, {13.80631, 8.59372, 24.241}}},
      {"Pastes",
       two_groups(published::pastes),
       246.990746,
       60.0533333,
       {{8.4336666, 4.65667, 16.8104}, {1.6573091, 0.0, 10.8017}, {0.67799998, 0.425134, 1.1782}}},
      {"Penicillin",
       two_groups(published::penicillin),
       330.860589,
       22.9722222,
       {{0.71690821, 0.402085, 1.40403},
        {3.7309182, 1.32592, 17.7606},
        {0.30241546, 0.23604, 0.396195}}}};
}

void expect_close(double found, double published, double share) {
  EXPECT_NEAR(found, published, share * std::abs(published) + 1e-9);
}

TEST(CrossedEffects, AgreeWithLme4) {
  for (const auto& one : cases()) {
    SCOPED_TRACE(one.name);
    const auto fit = fit_crossed(one.model, 0.95);
    ASSERT_TRUE(fit) << fit.error().text;
    EXPECT_TRUE(fit->profiled);
    EXPECT_NEAR(fit->criterion, one.criterion, 5e-7);
    EXPECT_NEAR(fit->fixed.at(0), one.mean, 5e-8 * one.mean);
    ASSERT_EQ(fit->variances.size(), one.variances.size());
    for (std::size_t k = 0; k < one.variances.size(); ++k) {
      expect_close(fit->variances[k].value, one.variances[k].value, 5e-6);
      expect_close(fit->variances[k].low, one.variances[k].low, 5e-6);
      expect_close(fit->variances[k].high, one.variances[k].high, 5e-6);
    }
  }
}

// Published: R 4.2.2, lme4 1.1-31: ranef(condVar = TRUE) of Dyestuff.
TEST(CrossedEffects, EffectsAgreeWithLme4) {
  const auto fit = fit_crossed(one_group(published::dyestuff), 0.95);
  ASSERT_TRUE(fit);
  const std::vector<double> effects{
      -17.606851, 0.391263, 28.562226, -23.084538, 56.733188, -44.995287};
  ASSERT_EQ(fit->effects.at(0).size(), effects.size());
  for (std::size_t i = 0; i < effects.size(); ++i) {
    EXPECT_NEAR(fit->effects[0][i].value, effects[i], 1e-4);
    EXPECT_NEAR(fit->effects[0][i].sigma, 19.586570, 1e-4);
  }
}

// Published (closed form): balanced groups, the analysis of variance: residual = mean square within,
// group = (between - within) / m where that is positive (Searle, Casella, McCulloch, Variance
// Components, Wiley 1992, chapter 4).
TEST(CrossedEffects, BalancedGroupsAreTheAnalysisOfVariance) {
  const auto model = one_group(published::dyestuff);
  std::vector<double> mean(6, 0.0);
  for (std::size_t i = 0; i < 30; ++i) mean[i / 5] += model.values[i] / 5.0;
  double within = 0.0, between = 0.0;
  for (std::size_t i = 0; i < 30; ++i) within += std::pow(model.values[i] - mean[i / 5], 2) / 24.0;
  for (const double one : mean) between += 5.0 * std::pow(one - 1527.5, 2) / 5.0;
  const auto fit = fit_crossed(model, 0.9);
  ASSERT_TRUE(fit);
  expect_close(fit->variances[1].value, within, 1e-5);
  expect_close(fit->variances[0].value, (between - within) / 5.0, 1e-5);
}

// Property: readings in another unit and from another nought give the same spread in that unit.
TEST(CrossedEffects, FollowTheUnitOfTheReadings) {
  auto model = two_groups(published::penicillin);
  const auto before = fit_crossed(model, 0.9);
  for (double& value : model.values) value = 1e5 + 1e-3 * value;
  const auto after = fit_crossed(model, 0.9);
  ASSERT_TRUE(before && after);
  for (std::size_t k = 0; k < 3; ++k) {
    expect_close(after->variances[k].value, 1e-6 * before->variances[k].value, 1e-4);
    expect_close(after->variances[k].high, 1e-6 * before->variances[k].high, 1e-4);
  }
}

// Property, fixed seed: of 90 % intervals about nine in ten hold the truth, stampers within presses
// and batches across them.
TEST(CrossedEffects, IntervalsHoldTheTruthAsOftenAsTheySay) {
  std::mt19937_64 draw{3};
  std::normal_distribution<double> normal;
  constexpr int works_count = 200;
  std::vector<int> held(3);
  const std::vector<double> truth{1.0, 0.5, 0.25};
  for (int i = 0; i < works_count; ++i) {
    std::vector<double> stamper(12), batch(10);
    for (double& one : stamper) one = std::sqrt(truth[0]) * normal(draw);
    for (double& one : batch) one = std::sqrt(truth[1]) * normal(draw);
    CrossedModel model;
    for (int disc = 0; disc < 120; ++disc) {
      const int of = disc / 10, mixed = static_cast<int>(draw() % 10);
      put(model, 0, of);
      put(model, 1, mixed);
      model.values.push_back(stamper[static_cast<std::size_t>(of)] +
                             batch[static_cast<std::size_t>(mixed)] +
                             std::sqrt(truth[2]) * normal(draw));
    }
    model.fixed.emplace_back(model.values.size(), 1.0);
    const auto fit = fit_crossed(model, 0.9);
    ASSERT_TRUE(fit);
    for (std::size_t k = 0; k < 3; ++k)
      held[k] += fit->variances[k].low <= truth[k] && truth[k] <= fit->variances[k].high;
  }
  // Binomial of 200 at 0.9: 180, three standard deviations 13.
  for (const int one : held) EXPECT_NEAR(one, 180, 13);
}

// Property, fixed seed: 30,000 readings of 3,400 levels.
TEST(CrossedEffects, LargeFamiliesAreToldClosely) {
  std::mt19937_64 draw{9};
  std::normal_distribution<double> normal;
  CrossedModel model;
  std::vector<double> stamper(3000), batch(400);
  for (double& one : stamper) one = normal(draw);
  for (double& one : batch) one = 0.7 * normal(draw);
  for (int disc = 0; disc < 30000; ++disc) {
    const auto of = static_cast<std::size_t>(disc / 10),
               mixed = static_cast<std::size_t>(disc / 75);
    put(model, 0, static_cast<int>(of));
    put(model, 1, static_cast<int>(mixed));
    model.values.push_back(stamper[of] + batch[mixed] + normal(draw));
  }
  model.fixed.emplace_back(model.values.size(), 1.0);
  const auto fit = fit_crossed(model, 0.95);
  ASSERT_TRUE(fit);
  const std::vector<double> truth{1.0, 0.49, 1.0}, units{3000.0, 400.0, 27000.0};
  for (std::size_t k = 0; k < 3; ++k) {
    // No interval of a variance can be narrower than that of as many independent ones known exactly.
    const double least = 2.0 * truth[k] * std::sqrt(2.0 / units[k]);
    EXPECT_GT(fit->variances[k].high - fit->variances[k].low, 1.8 * least);
    EXPECT_LT(fit->variances[k].high - fit->variances[k].low, 4.0 * least);
    EXPECT_NEAR(fit->variances[k].value, truth[k], 2.0 * least);
  }
}

TEST(CrossedEffects, ReadingsAllAlikeAreRefused) {
  CrossedModel model{.values = std::vector<double>(9, 3.5), .fixed = {std::vector<double>(9, 1.0)}};
  const auto fit = fit_crossed(model, 0.9);
  ASSERT_FALSE(fit);
  EXPECT_EQ(fit.error().fault, Fault::bad_input);
}

}  // namespace
}  // namespace goodside::trace
