#include "listen/ar_model.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <vector>

#include "listen/robust_prediction.hpp"

namespace goodside::listen {
namespace {

// Second road: scipy.linalg.solve_toeplitz([1, .8, .5], [.8, .5, .2]) of SciPy 1.10, and r[0] - a.r[1..3].
TEST(Levinson, SolvesTheToeplitzSystemAsScipyDoes) {
  const ArModel model = levinson(std::vector{1.0, 0.8, 0.5, 0.2});
  const double scipy[] = {1.0, -1.05454545, 0.22727273, 0.14545455};
  for (std::size_t i = 0; i < 4; ++i) EXPECT_NEAR(model.taps[i], scipy[i], 5e-9) << i;
  EXPECT_NEAR(model.error, 0.29909091, 5e-9);
}

// Second road: the Yule-Walker equations of x[n] = 1.8 x[n-1] - 0.9 x[n-2] + e[n] by hand:
// rho1 = 1.8/1.9, rho2 = 1.8 rho1 - 0.9, r0 = 1/(1 - 1.8 rho1 + 0.9 rho2) for unit e.
TEST(Levinson, RecoversAKnownProcessFromItsExactLags) {
  const double rho1 = 1.8 / 1.9;
  const double rho2 = 1.8 * rho1 - 0.9;
  const double r0 = 1.0 / (1.0 - 1.8 * rho1 + 0.9 * rho2);
  EXPECT_NEAR(r0, 51.3514, 5e-5);
  const ArModel model = levinson(std::vector{r0, r0 * rho1, r0 * rho2});
  EXPECT_NEAR(model.taps[1], -1.8, 1e-12);
  EXPECT_NEAR(model.taps[2], 0.9, 1e-12);
  EXPECT_NEAR(model.error, 1.0, 1e-10);
}

// Property: rounding can push lags off positive definiteness; the recursion must end, not blow up.
TEST(Levinson, EndsWhereTheLagsAreNotPositiveDefinite) {
  const ArModel model = levinson(std::vector{1.0, 1.0, 0.5, 2.0});
  for (const double tap : model.taps) EXPECT_TRUE(std::isfinite(tap));
}

/// Uniform in (-1/2, 1/2), the same as in ar_model_test.py.
class Draws {
 public:
  double operator()() {
    state_ = (1103515245U * state_ + 12345U) % 2147483648U;
    return static_cast<double>(state_) / 2147483648.0 - 0.5;
  }

 private:
  std::uint64_t state_{12345};
};

/// D. B. Percival and A. T. Walden, Spectral Analysis for Physical Applications (1993), the AR(4) example
/// (from memory).
std::vector<double> percival_walden(std::size_t count, std::vector<double>& innovation) {
  Draws draw;
  std::vector<double> x(count);
  innovation.resize(count);
  const double a[] = {2.7607, -3.8106, 2.6535, -0.9238};
  for (std::size_t n = 0; n < count; ++n) {
    innovation[n] = draw();
    x[n] = innovation[n];
    for (std::size_t i = 0; i < 4; ++i)
      if (n > i) x[n] += a[i] * x[n - 1 - i];
  }
  return x;
}

// Second road: ar_model_test.py, scipy.signal.lfilter and solve_toeplitz on the same draws.
TEST(Autocorrelate, AndLevinsonFitAGeneratedProcessAsScipyDoes) {
  std::vector<double> innovation;
  const std::vector<double> x = percival_walden(20000, innovation);
  const std::vector<float> samples{x.begin(), x.end()};
  std::vector<double> lags(5);
  autocorrelate(samples, lags);
  const double scipy_lags[] = {1268233.3251, 909614.4243, 48047.2284, -808393.6216, -1172782.1958};
  for (std::size_t k = 0; k < 5; ++k) EXPECT_NEAR(lags[k], scipy_lags[k], 0.2) << k;
  const double scipy_taps[] = {2.75917736, -3.80566953, 2.64837803, -0.92130666};
  const ArModel model = levinson(lags);
  for (std::size_t i = 0; i < 4; ++i) EXPECT_NEAR(-model.taps[i + 1], scipy_taps[i], 2e-4) << i;
}

// Second road: the normal equation of one unknown by hand, x2 = 2.1386139 with SSE 0.8429703 for
// a = (1.8, -0.9) about 1, 2, ?, 1.5, 0.3.
TEST(Interpolate, FindsTheValueOfLeastError) {
  const ArModel model{{1.0, -1.8, 0.9}, 1.0};
  const std::vector<double> samples{1.0, 2.0, 99.0, 1.5, 0.3};
  const auto value = interpolate(model, samples, 2, 3);
  ASSERT_EQ(value.size(), 1U);
  EXPECT_NEAR(value[0], 2.1386139, 5e-8);
}

// Property: the error that the interpolation leaves is least: moving any sample makes it greater.
TEST(Interpolate, NoNeighbouringValuesDoBetter) {
  std::vector<double> innovation;
  std::vector<double> x = percival_walden(400, innovation);
  const ArModel model{{1.0, -2.7607, 3.8106, -2.6535, 0.9238}, 1.0};
  const auto values = interpolate(model, x, 200, 207);
  std::copy(values.begin(), values.end(), x.begin() + 200);
  const auto error = [&] {
    double sum = 0.0;
    for (std::size_t n = 200; n < 211; ++n) {
      double e = 0.0;
      for (std::size_t i = 0; i < 5; ++i) e += model.taps[i] * x[n - i];
      sum += e * e;
    }
    return sum;
  };
  const double least = error();
  for (std::size_t n = 200; n < 207; ++n)
    for (const double step : {-0.01, 0.01}) {
      x[n] += step;
      EXPECT_GT(error(), least);
      x[n] -= step;
    }
}

// Property: clicks of 60 sigma in every block leave model and scale as they were; uniform draws have
// sigma = 1.4826 median|e| = 1.4826/4.
TEST(RobustPredictor, ClicksDoNotShapeTheModel) {
  std::vector<double> innovation;
  const std::vector<double> x = percival_walden(2100, innovation);
  std::vector<float> clean{x.begin(), x.end()};
  std::vector<float> clicked = clean;
  for (const std::size_t at : {500U, 900U, 901U, 1303U, 1700U}) clicked[at] += 20.0F;
  RobustPredictor predictor;
  const auto fit = predictor.fit(clicked, 48000.0);
  EXPECT_NEAR(fit.sigma, 1.4826 / 4.0, 0.02);
  std::vector<float> white(2100 - prediction_order);
  predictor.whiten(fit, clean, prediction_order, white);
  double left = 0.0;
  double whole = 0.0;
  for (std::size_t n = 0; n < white.size(); ++n) {
    const double e = innovation[n + prediction_order];
    left += std::pow(static_cast<double>(white[n]) * fit.sigma - e, 2.0);
    whole += e * e;
  }
  // 48 coefficients from 2100 samples cost 48/2100 = 2 %; the Hann window's loss makes it 5 %.
  EXPECT_LT(left / whole, 0.07);
}

TEST(RobustPredictor, TakesDigitalSilence) {
  RobustPredictor predictor;
  const auto fit = predictor.fit(std::vector<float>(1000), 48000.0);
  EXPECT_EQ(fit.model.taps[0], 1.0);
  EXPECT_EQ(fit.sigma, 1e-7);
}

}  // namespace
}  // namespace goodside::listen
