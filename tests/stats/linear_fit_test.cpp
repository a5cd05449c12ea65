#include "stats/linear_fit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

#include "published/centring/enso.hpp"

namespace goodside::stats {
namespace {

// Published: NIST StRD, ENSO. With the two free periods at their certified values the model is linear, and its least
// squares are the certified ones: a sinusoid fit of the very kind that a groove's readings are.
TEST(LinearFit, AgreesWithTheCertifiedSinusoids) {
  std::vector<double> design;
  for (std::size_t i = 0; i < published::enso.size(); ++i) {
    const double month = static_cast<double>(i) + 1.0;
    design.push_back(1.0);
    for (const double cycle : {12.0, published::enso_cycle_4, published::enso_cycle_7}) {
      design.push_back(std::cos(2.0 * std::numbers::pi * month / cycle));
      design.push_back(std::sin(2.0 * std::numbers::pi * month / cycle));
    }
  }
  const auto fit = fit_linear(design, published::enso);
  ASSERT_TRUE(fit) << fit.error().text;
  for (std::size_t k = 0; k < published::enso_certified.size(); ++k)
    EXPECT_NEAR(fit->at[k], published::enso_certified[k], 2e-9) << k;
  EXPECT_NEAR(fit->residual_sum, published::enso_residual_sum, 1e-8);
  EXPECT_EQ(fit->degrees_of_freedom, 161);
  double leverage = 0.0;
  for (const double one : fit->leverage) leverage += one;
  EXPECT_NEAR(leverage, 7.0, 1e-12);  // Property: the trace of a projection is its rank.
}

// Second road: whole-number weights are the same reading taken so many times.
TEST(LinearFit, AWeightOfThreeIsTheReadingThreeTimes) {
  const std::vector<double> once{1, 0, 1, 1, 1, 2, 1, 3.5}, y{1.0, 2.2, 2.9, 4.6}, w{1, 3, 1, 2};
  std::vector<double> design, values;
  for (std::size_t i = 0; i < y.size(); ++i)
    for (double k = 0; k < w[i]; k += 1.0) {
      design.insert(design.end(), {once[2 * i], once[2 * i + 1]});
      values.push_back(y[i]);
    }
  const auto weighted = fit_linear(once, y, w), all = fit_linear(design, values);
  ASSERT_TRUE(weighted && all);
  for (std::size_t k = 0; k < 2; ++k) EXPECT_NEAR(weighted->at[k], all->at[k], 1e-13);
  for (std::size_t k = 0; k < 4; ++k)
    EXPECT_NEAR(weighted->covariance[k], all->covariance[k], 1e-13);
}

TEST(LinearFit, RefusesColumnsThatCannotBeToldApart) {
  const std::vector<double> design{1, 2, 1, 2, 1, 2}, y{1, 2, 3};
  const auto fit = fit_linear(design, y);
  ASSERT_FALSE(fit);
  EXPECT_EQ(fit.error().fault, Fault::not_converged);
  EXPECT_FALSE(fit_linear(std::vector<double>{1, 2, 3}, std::vector<double>{1}));
}

// Published: SciPy 1.10, stats.f.ppf and sf (tests/published/centring/values.py).
TEST(LinearFit, FOfTwoAgreesWithSciPy) {
  EXPECT_NEAR(f_quantile_of_two(0.9, 4.0), 4.32455532033676, 1e-13);
  EXPECT_NEAR(f_quantile_of_two(0.9, 7.0), 3.2574420510913757, 1e-13);
  EXPECT_NEAR(f_tail_of_two(3.3, 7.0), 0.09782660023270044, 1e-15);
  EXPECT_NEAR(f_tail_of_two(2.0, 11.0), 0.18161756286653252, 1e-15);
  const double infinite = std::numeric_limits<double>::infinity();
  EXPECT_NEAR(f_quantile_of_two(0.9, infinite), std::log(10.0), 1e-15);
  EXPECT_NEAR(f_quantile_of_two(0.9, 1e9), std::log(10.0), 1e-8);
}

// Published: NIST/SEMATECH e-Handbook 1.3.5.17.3, Rosner's 54 values: three outliers at 5 %, of up to ten tried, which
// a test that stops at the first that does not exceed would miss (the first two do not).
TEST(Outliers, AgreesWithRosnersExample) {
  const std::vector<double> values{
      -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56,
      1.58,  1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10,
      2.14,  2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92,
      2.92,  2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01};
  const std::vector<double> design(values.size(), 1.0);
  EXPECT_EQ(outliers(design, values, 10, 0.05), (std::vector<std::size_t>{53, 52, 51}));
}

}  // namespace
}  // namespace goodside::stats
