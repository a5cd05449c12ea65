#include "maths/whittaker.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <span>
#include <vector>

namespace goodside::maths {
namespace {

using Values = std::vector<double>;

/// In [0, 1).
Values noise(std::size_t count, unsigned seed) {
  std::mt19937 engine{seed};
  Values values(count);
  for (double& value : values) value = static_cast<double>(engine()) / 4294967296.0;
  return values;
}

Values dense_solve(const Values& values, const Values& weights, double penalty) {
  const auto n = static_cast<Eigen::Index>(values.size());
  const Eigen::Map<const Eigen::VectorXd> y(values.data(), n);
  const Eigen::Map<const Eigen::VectorXd> w(weights.data(), n);
  Eigen::MatrixXd difference = Eigen::MatrixXd::Zero(n - 2, n);
  for (Eigen::Index k = 0; k + 2 < n; ++k) difference.row(k).segment(k, 3) << 1.0, -2.0, 1.0;
  Eigen::MatrixXd normal = penalty * difference.transpose() * difference;
  normal.diagonal() += w;
  const Eigen::VectorXd right = w.cwiseProduct(y);
  const Eigen::VectorXd smooth = normal.ldlt().solve(right);
  return {smooth.begin(), smooth.end()};
}

// Reference: SciPy 1.10.1:
//     D = numpy.diff(numpy.eye(8), 2, axis=0)
//     scipy.linalg.solve(numpy.diag(w) + 2.5 * D.T @ D, w * y, assume_a='pos')
TEST(Whittaker, AgreesWithSciPy) {
  const Values smooth =
      whittaker(Values{1, 3, 2, 5, 4, 7, -1, 8}, Values{1, 1, 0, 2, 1, 0.5, 0, 3}, 2.5);
  constexpr double expected[] = {1.3986418322520418,
                                 2.6141398520815922,
                                 3.6701811390103258,
                                 4.5616530193047904,
                                 5.2834428192315341,
                                 6.1811154496132783,
                                 7.0868586935801314,
                                 7.9966372443395386};
  ASSERT_EQ(smooth.size(), 8U);
  for (std::size_t k = 0; k < 8; ++k) EXPECT_NEAR(smooth[k], expected[k], 1e-13) << k;
}

// Second road: a dense solve of the normal equations, weights of zero among them.
TEST(Whittaker, AgreesWithADenseSolve) {
  for (const std::size_t count : {3U, 4U, 5U, 6U, 80U})
    for (const double penalty : {1e-3, 1.0, 1e4}) {
      const Values values = noise(count, 1);
      Values weights = noise(count, 2);
      for (std::size_t k = 1; k + 1 < count; k += 3) weights[k] = 0.0;
      const Values smooth = whittaker(values, weights, penalty);
      const Values expected = dense_solve(values, weights, penalty);
      for (std::size_t k = 0; k < count; ++k)
        EXPECT_NEAR(smooth[k], expected[k], 1e-9) << count << ", " << penalty << ", " << k;
    }
}

// Closed form: away from the ends a wave of w radians a value is kept by
// 1/(1 + penalty (2 sin(w/2))^4), the eigenvalue of the second difference squared.
TEST(Whittaker, KeepsOfAWaveWhatItsPenaltySays) {
  constexpr std::size_t count = 600;
  for (const double penalty : {0.1, 10.0, 1000.0})
    for (const double radians : {0.05, 0.2, 1.0, std::numbers::pi}) {
      Values wave(count);
      for (std::size_t k = 0; k < count; ++k) wave[k] = std::cos(radians * static_cast<double>(k));
      const Values smooth = whittaker(wave, Values(count, 1.0), penalty);
      const double kept = 1.0 / (1.0 + penalty * std::pow(2.0 * std::sin(0.5 * radians), 4));
      for (std::size_t k = 280; k < 320; ++k)
        EXPECT_NEAR(smooth[k], kept * wave[k], 1e-11) << penalty << ", " << radians;
    }
}

TEST(Whittaker, KeepsAStraightLineUnderAnyWeights) {
  constexpr std::size_t count = 40;
  Values line(count);
  for (std::size_t k = 0; k < count; ++k) line[k] = 3.0 - 0.25 * static_cast<double>(k);
  for (const double penalty : {1e-6, 1.0, 1e6}) {
    const Values smooth = whittaker(line, noise(count, 3), penalty);
    for (std::size_t k = 0; k < count; ++k) EXPECT_NEAR(smooth[k], line[k], 1e-7) << penalty;
  }
}

// Property: the penalty is blind to lines, so the gaps have no weighted sum and no moment.
TEST(Whittaker, KeepsTheWeightedSumAndMoment) {
  const Values values = noise(100, 4);
  const Values weights = noise(100, 5);
  const Values smooth = whittaker(values, weights, 50.0);
  double sum = 0.0;
  double moment = 0.0;
  for (std::size_t k = 0; k < 100; ++k) {
    const double gap = weights[k] * (values[k] - smooth[k]);
    sum += gap;
    moment += gap * static_cast<double>(k);
  }
  EXPECT_NEAR(sum, 0.0, 1e-10);
  EXPECT_NEAR(moment, 0.0, 1e-8);
}

// Property: in a gap the least penalty has no fourth difference: a cubic bridges it, whatever
// values stand there.
TEST(Whittaker, BridgesAGapByACubic) {
  Values values = noise(60, 6);
  Values weights(60, 1.0);
  std::fill(weights.begin() + 20, weights.begin() + 40, 0.0);
  const Values smooth = whittaker(values, weights, 3.0);
  for (std::size_t k = 20; k < 40; ++k)
    EXPECT_NEAR(
        smooth[k - 2] - 4.0 * smooth[k - 1] + 6.0 * smooth[k] - 4.0 * smooth[k + 1] + smooth[k + 2],
        0.0,
        1e-12)
        << k;
  std::fill(values.begin() + 20, values.begin() + 40, 1e3);
  EXPECT_EQ(whittaker(values, weights, 3.0), smooth);
}

// Closed form: under a great penalty only the weighted least-squares line is left.
TEST(Whittaker, EndsInTheLeastSquaresLine) {
  constexpr std::size_t count = 20;
  const Values values = noise(count, 7);
  const Values weights = noise(count, 8);
  double w = 0.0;
  double wx = 0.0;
  double wxx = 0.0;
  double wy = 0.0;
  double wxy = 0.0;
  for (std::size_t k = 0; k < count; ++k) {
    const auto x = static_cast<double>(k);
    w += weights[k];
    wx += weights[k] * x;
    wxx += weights[k] * x * x;
    wy += weights[k] * values[k];
    wxy += weights[k] * x * values[k];
  }
  const double slope = (w * wxy - wx * wy) / (w * wxx - wx * wx);
  const double level = (wy - slope * wx) / w;
  const Values smooth = whittaker(values, weights, 1e9);
  for (std::size_t k = 0; k < count; ++k)
    EXPECT_NEAR(smooth[k], level + slope * static_cast<double>(k), 1e-5) << k;
}

Values wave_with_noise(double radians, double noise_height) {
  Values values = noise(400, 9);
  for (std::size_t k = 0; k < values.size(); ++k)
    values[k] = noise_height * (values[k] - 0.5) + std::sin(radians * static_cast<double>(k));
  return values;
}

constexpr double stiff_first[] = {1e6, 1e4, 1e2, 1.0, 1e-2};
constexpr double soft_first[] = {1e-2, 1.0, 1e2, 1e4, 1e6};

TEST(ForetellingPenalty, IsSoftForACleanQuickWaveAndStiffForANoisySlowOne) {
  const Values even(400, 1.0);
  const Values quick = wave_with_noise(0.3, 0.0);
  const Values slow = wave_with_noise(0.01, 1.0);
  for (const std::span<const double> candidates : {std::span{stiff_first}, std::span{soft_first}}) {
    EXPECT_LE(foretelling_penalty(quick, even, candidates, 3), 1.0);
    EXPECT_GE(foretelling_penalty(slow, even, candidates, 3), 1e4);
  }
}

// What it chooses stands nearer the truth than the softest and the stiffest on offer.
TEST(ForetellingPenalty, ChoosesACurveNearTheTruth) {
  const Values noisy = wave_with_noise(0.04, 0.8);
  const Values truth = wave_with_noise(0.04, 0.0);
  const Values even(400, 1.0);
  const auto error = [&](double penalty) {
    const Values smooth = whittaker(noisy, even, penalty);
    double sum = 0.0;
    for (std::size_t k = 0; k < truth.size(); ++k) sum += std::pow(smooth[k] - truth[k], 2);
    return sum;
  };
  const double chosen = error(foretelling_penalty(noisy, even, soft_first, 4));
  EXPECT_LT(chosen, 0.5 * error(1e-2));
  EXPECT_LT(chosen, 0.5 * error(1e6));
}

TEST(ForetellingPenalty, IsNotMovedByValuesOfNoWeight) {
  Values values = wave_with_noise(0.04, 0.8);
  Values weights(400, 1.0);
  for (std::size_t k = 7; k < 400; k += 11) weights[k] = 0.0;
  const double before = foretelling_penalty(values, weights, soft_first, 4);
  for (std::size_t k = 7; k < 400; k += 11) values[k] = 1e6;
  EXPECT_EQ(foretelling_penalty(values, weights, soft_first, 4), before);
}

// Without the cut-off at nine medians one wild value makes the stiffest foretell best, and the wave
// is lost (1e6 keeps less than a third of it).
TEST(ForetellingPenalty, DoesNotLoseTheWaveToOneWildValue) {
  for (const std::size_t place : {30U, 101U, 203U, 333U}) {
    Values values = wave_with_noise(0.04, 0.8);
    values[place] += 100.0;
    EXPECT_LE(foretelling_penalty(values, Values(400, 1.0), soft_first, 4), 1e4) << place;
  }
}

// Too little to leave anything out: the first on offer stands.
TEST(ForetellingPenalty, FallsBackOnTheFirstCandidate) {
  Values weights(30, 0.0);
  weights[3] = weights[4] = 1.0;
  EXPECT_EQ(foretelling_penalty(noise(30, 10), weights, stiff_first, 5), 1e6);
  EXPECT_EQ(foretelling_penalty(noise(8, 10), Values(8, 1.0), stiff_first, 4), 1e6);
}

}  // namespace
}  // namespace goodside::maths
