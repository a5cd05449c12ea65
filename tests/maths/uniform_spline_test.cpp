#include "maths/uniform_spline.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

namespace goodside::maths {
namespace {

std::vector<double> noise(std::size_t count, unsigned seed) {
  std::mt19937 engine{seed};
  std::vector<double> values(count);
  for (double& value : values) value = static_cast<double>(engine()) / 2147483648.0 - 1.0;
  return values;
}

// Reference: SciPy 1.10.1:
//     c = scipy.interpolate.CubicSpline(range(7), [2, -1, 3, .5, .25, -4, 1], bc_type='natural')
//     c(u), c(u, 1), c.c[::-1, 2]
TEST(UniformSpline, AgreesWithSciPy) {
  const UniformSpline spline{{2.0, -1.0, 3.0, 0.5, 0.25, -4.0, 1.0}};
  constexpr double rows[][3] = {{0.0, 2.0, -5.4179487179487182},
                                {0.25, 0.68329326923076916, -4.9645833333333336},
                                {1.5, 1.0951923076923076, 5.2724358974358978},
                                {2.125, 3.0177283653846154, -0.72131410256410255},
                                {3.75, 0.60498798076923066, -0.2941506410256407},
                                {4.5, -2.1360576923076922, -5.5016025641025639},
                                {5.9, 0.21772307692307935, 7.7657435897435896},
                                {6.0, 1.0, 7.8512820512820518}};
  for (const auto& [u, value, slope] : rows) {
    EXPECT_NEAR(spline.at(u), value, 1e-14) << u;
    EXPECT_NEAR(spline.slope_at(u), slope, 1e-14) << u;
  }
  const auto [value, slope, bend, twist] = spline.piece(2);
  EXPECT_NEAR(value, 3.0, 1e-14);
  EXPECT_NEAR(slope, 1.0743589743589743, 1e-14);
  EXPECT_NEAR(bend, -8.0153846153846153, 1e-14);
  EXPECT_NEAR(twist, 4.4410256410256412, 1e-14);
}

// Second road: the second derivatives from a dense solve of the same conditions.
TEST(UniformSpline, AgreesWithADenseSolve) {
  for (const std::size_t count : {3U, 4U, 60U}) {
    const std::vector<double> values = noise(count, 1);
    const auto n = static_cast<Eigen::Index>(count);
    const Eigen::Map<const Eigen::VectorXd> y(values.data(), n);
    Eigen::MatrixXd conditions = Eigen::MatrixXd::Identity(n, n);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(n);
    for (Eigen::Index k = 1; k + 1 < n; ++k) {
      conditions.row(k).segment(k - 1, 3) << 1.0 / 6.0, 4.0 / 6.0, 1.0 / 6.0;
      right(k) = y(k - 1) - 2.0 * y(k) + y(k + 1);
    }
    const Eigen::VectorXd second = conditions.partialPivLu().solve(right);
    const UniformSpline spline{values};
    for (std::size_t k = 0; k + 1 < count; ++k)
      EXPECT_NEAR(2.0 * spline.piece(k).bend, second(static_cast<Eigen::Index>(k)), 1e-13) << k;
  }
}

TEST(UniformSpline, PassesThroughItsValuesAndIsTwiceContinuouslyDifferentiable) {
  const std::vector<double> values = noise(50, 2);
  const UniformSpline spline{values};
  ASSERT_EQ(spline.size(), 50U);
  EXPECT_TRUE(std::ranges::equal(spline.values(), values));
  for (std::size_t k = 0; k < 50; ++k)
    EXPECT_NEAR(spline.at(static_cast<double>(k)), values[k], 1e-14) << k;
  for (std::size_t k = 0; k + 2 < 50; ++k) {
    const auto a = spline.piece(k);
    const auto b = spline.piece(k + 1);
    EXPECT_NEAR(a.value + a.slope + a.bend + a.twist, b.value, 1e-13) << k;
    EXPECT_NEAR(a.slope + 2.0 * a.bend + 3.0 * a.twist, b.slope, 1e-13) << k;
    EXPECT_NEAR(a.bend + 3.0 * a.twist, b.bend, 1e-13) << k;
  }
  EXPECT_EQ(spline.piece(0).bend, 0.0);
  EXPECT_NEAR(spline.piece(48).bend + 3.0 * spline.piece(48).twist, 0.0, 1e-13);
}

TEST(UniformSpline, CarriesTheEndsStraightOn) {
  const UniformSpline spline{noise(9, 3)};
  for (const double past : {0.5, 3.0, 1e3}) {
    EXPECT_NEAR(spline.at(-past), spline.at(0.0) - past * spline.slope_at(0.0), 1e-12);
    EXPECT_NEAR(spline.at(8.0 + past), spline.at(8.0) + past * spline.slope_at(8.0), 1e-12);
    EXPECT_EQ(spline.slope_at(-past), spline.slope_at(0.0));
    EXPECT_EQ(spline.slope_at(8.0 + past), spline.slope_at(8.0));
  }
}

TEST(UniformSpline, KeepsAStraightLine) {
  for (const std::size_t count : {2U, 3U, 30U}) {
    std::vector<double> values(count);
    for (std::size_t k = 0; k < count; ++k) values[k] = 4.0 - 0.75 * static_cast<double>(k);
    const UniformSpline spline{values};
    for (double u = -3.0; u < 33.0; u += 0.37) {
      EXPECT_NEAR(spline.at(u), 4.0 - 0.75 * u, 1e-13) << count << ", " << u;
      EXPECT_NEAR(spline.slope_at(u), -0.75, 1e-14) << count << ", " << u;
    }
  }
}

// Closed form: half a sine has no second derivative at its ends, so the natural spline nears it
// with the fourth power of the spacing, within 5/384 h^4 max|f''''| (Hall and Meyer 1976, from
// memory).
TEST(UniformSpline, NearsASineWithTheFourthPowerOfTheSpacing) {
  double before = 0.0;
  for (const std::size_t pieces : {8U, 16U, 32U, 64U}) {
    const double spacing = std::numbers::pi / static_cast<double>(pieces);
    std::vector<double> values(pieces + 1);
    for (std::size_t k = 0; k <= pieces; ++k)
      values[k] = std::sin(spacing * static_cast<double>(k));
    const UniformSpline spline{values};
    double worst = 0.0;
    for (double u = 0.0; u <= static_cast<double>(pieces); u += 0.01)
      worst = std::max(worst, std::abs(spline.at(u) - std::sin(spacing * u)));
    EXPECT_LT(worst, 5.0 / 384.0 * std::pow(spacing, 4)) << pieces;
    if (before > 0.0) {
      EXPECT_NEAR(before / worst, 16.0, 0.8) << pieces;
    }
    before = worst;
  }
}

}  // namespace
}  // namespace goodside::maths
