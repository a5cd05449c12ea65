#include "stats/minimise.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "stats/interval.hpp"
#include "stats/quadrature.hpp"

namespace goodside::stats {
namespace {

// Published: H. H. Rosenbrock, Computer Journal 3, 1960: 100 (y - x^2)^2 + (1 - x)^2 is least at
// (1, 1), usually begun from (-1.2, 1).
TEST(Minimise, FindsTheEndOfRosenbrocksValley) {
  const auto valley = [](std::span<const double> at) {
    return 100.0 * std::pow(at[1] - at[0] * at[0], 2) + std::pow(1.0 - at[0], 2);
  };
  const auto found = minimise(
      valley,
      {.start = {-1.2, 1.0}, .first_step = {0.5, 0.5}, .low = {-5.0, -5.0}, .high = {5.0, 5.0}});
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->at[0], 1.0, 1e-6);
  EXPECT_NEAR(found->at[1], 1.0, 1e-6);
  EXPECT_GT(found->evaluations, 10);
}

// Property: a minimum beyond a bound is found on it, in one coordinate as in several.
TEST(Minimise, StopsAtTheBound) {
  const auto bowl = [](std::span<const double> at) { return (at[0] + 1.0) * (at[0] + 1.0); };
  const auto found =
      minimise(bowl, {.start = {2.0}, .first_step = {0.5}, .low = {0.0}, .high = {9.0}});
  ASSERT_TRUE(found);
  EXPECT_EQ(found->at[0], 0.0);
  EXPECT_DOUBLE_EQ(found->value, 1.0);
}

TEST(Root, IsWhereTheSignChanges) {
  const auto found = root([](double x) { return std::cos(x); }, 0.0, 3.0);
  ASSERT_TRUE(found);
  EXPECT_NEAR(*found, std::acos(0.0), 1e-11);
}

TEST(Root, RefusesEndsOfOneSign) {
  const auto found = root([](double x) { return 1.0 + x * x; }, -1.0, 1.0);
  ASSERT_FALSE(found);
  EXPECT_EQ(found.error().fault, Fault::not_converged);
}

// Property: twenty points integrate x^39 exactly; the weights sum to 1.
TEST(GaussLegendre, IsExactForPolynomials) {
  double sum = 0.0, power = 0.0;
  for (const auto& [at, weight] : gauss_legendre()) {
    sum += weight;
    power += weight * std::pow(at, 39);
  }
  EXPECT_NEAR(sum, 1.0, 1e-14);
  EXPECT_NEAR(power, 1.0 / 40.0, 1e-15);
}

TEST(Integrate, AgreesWithTheClosedForm) {
  EXPECT_NEAR(
      integrate([](double x) { return std::exp(-x); }, 0.0, 30.0), -std::expm1(-30.0), 1e-10);
}

// Regression, 2026-11-26: on a short range the rule was halved to its last level, 10^6 calls.
TEST(Integrate, TakesFewCallsOnAShortRange) {
  int calls = 0;
  const double found = integrate([&](double x) { return ++calls, std::exp(-x); }, 0.0, 1e-12);
  EXPECT_NEAR(found / -std::expm1(-1e-12), 1.0, 1e-12);
  EXPECT_LT(calls, 200);
}

// Published: SciPy 1.10, stats.chi2.ppf(0.95, 1) and ppf(0.9, 4).
TEST(ChiSquaredQuantile, AgreesWithSciPy) {
  EXPECT_NEAR(chi_squared_quantile(0.95, 1.0), 3.841458820694124, 1e-12);
  EXPECT_NEAR(chi_squared_quantile(0.90, 4.0), 7.779440339734858, 1e-12);
}

}  // namespace
}  // namespace goodside::stats
