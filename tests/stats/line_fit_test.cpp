#include "stats/line_fit.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace goodside::stats {
namespace {

// Published: SciPy 1.10, scipy.stats.linregress.
TEST(LineFit, AgreesWithSciPy) {
  const std::vector<double> x{0.0, 1.0, 2.0, 4.0, 5.0, 8.0}, y{1.0, 1.2, 0.9, 1.6, 1.5, 2.3};
  const auto fit = fit_line(x, y);
  EXPECT_NEAR(fit.slope, 0.16076923076923078, 1e-14);
  EXPECT_NEAR(fit.intercept, 0.8807692307692307, 1e-14);
  EXPECT_NEAR(fit.slope_sigma, 0.03296043890096698, 1e-14);
  EXPECT_NEAR(fit.residual_deviation, 0.21697217120387366, 1e-14);
  EXPECT_EQ(fit.degrees_of_freedom, 4);
}

// Property: a large offset costs no digits (the cautionary case 1e9 + {4, 7, 13, 16}).
TEST(LineFit, ALargeOffsetChangesNothing) {
  const std::vector<double> x{0.0, 1.0, 2.0, 3.0};
  std::vector<double> y{4.0, 7.0, 13.0, 16.0};
  const auto plain = fit_line(x, y);
  for (double& value : y) value += 1e9;
  const auto far = fit_line(x, y);
  EXPECT_NEAR(far.slope, plain.slope, 1e-6);
  EXPECT_NEAR(far.residual_deviation, plain.residual_deviation, 1e-6);
}

}  // namespace
}  // namespace goodside::stats
