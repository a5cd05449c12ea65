#include "stats/interval.hpp"

#include <gtest/gtest.h>

namespace goodside::stats {
namespace {

// Published: SciPy 1.10, scipy.stats.binomtest(k, n).proportion_ci(c, method="exact").
TEST(ProportionInterval, AgreesWithSciPy) {
  struct Row {
    int successes, trials;
    double confidence, low, high;
  };
  constexpr Row rows[] = {{0, 10, 0.95, 0.0, 0.30849710781876294},
                          {3, 10, 0.95, 0.06673951117773447, 0.652452850060008},
                          {10, 10, 0.95, 0.6915028921812371, 1.0},
                          {18, 20, 0.95, 0.6830172859809209, 0.9876514728297041},
                          {263, 300, 0.95, 0.8340272978266581, 0.9116558054389474},
                          {7, 9, 0.90, 0.45035835049338985, 0.9589768324926209}};
  for (const Row& row : rows) {
    const auto interval = proportion_interval(row.successes, row.trials, row.confidence);
    EXPECT_NEAR(interval.low, row.low, 1e-12) << row.successes << " of " << row.trials;
    EXPECT_NEAR(interval.high, row.high, 1e-12) << row.successes << " of " << row.trials;
  }
}

// Property: successes and failures change places.
TEST(ProportionInterval, MirrorsFailures) {
  for (const int successes : {0, 1, 7, 19, 20}) {
    const auto these = proportion_interval(successes, 20, 0.95);
    const auto others = proportion_interval(20 - successes, 20, 0.95);
    EXPECT_NEAR(these.low, 1.0 - others.high, 1e-12);
    EXPECT_NEAR(these.high, 1.0 - others.low, 1e-12);
  }
}

// Published: SciPy 1.10, s * sqrt(nu / scipy.stats.chi2.ppf(p, nu)) at p = 1 - a/2 and a/2.
TEST(DeviationInterval, AgreesWithSciPy) {
  struct Row {
    double deviation, freedom, confidence, low, high;
  };
  constexpr Row rows[] = {{1.0, 9.0, 0.95, 0.6878352067489997, 1.8256101825195739},
                          {2.5, 4.0, 0.95, 1.4978328478353522, 7.1838890851955455},
                          {0.01, 99.0, 0.99, 0.008439774542690614, 0.012200391852618042}};
  for (const Row& row : rows) {
    const auto interval = deviation_interval(row.deviation, row.freedom, row.confidence);
    EXPECT_NEAR(interval.low, row.low, 1e-12 * row.high);
    EXPECT_NEAR(interval.high, row.high, 1e-11 * row.high);
  }
}

// Published: SciPy 1.10, scipy.stats.t.ppf.
TEST(StudentT, AgreesWithSciPy) {
  EXPECT_NEAR(student_t_quantile(0.975, 4.0), 2.7764451051977987, 1e-12);
  EXPECT_NEAR(student_t_quantile(0.99865, 9.0), 4.094204800476654, 1e-11);
  EXPECT_NEAR(student_t_quantile(0.995, 30.0), 2.7499956535670305, 1e-12);
  // t.ppf is out by 6e-10 here; by the incomplete beta: -sqrt(7 (1/scipy.special.betaincinv(3.5,
  // 0.5, 0.05) - 1)).
  EXPECT_NEAR(student_t_quantile(0.025, 7.0), -2.3646242515927844, 1e-12);
}

// Published: SciPy 1.10, scipy.stats.chi2.sf.
TEST(ChiSquaredTail, AgreesWithSciPy) {
  EXPECT_NEAR(chi_squared_tail(3.84, 1.0), 0.05004352124870519, 1e-14);
  EXPECT_NEAR(chi_squared_tail(9.488, 4.0), 0.04999440557799463, 1e-14);
  EXPECT_DOUBLE_EQ(chi_squared_tail(0.0, 2.0), 1.0);
  EXPECT_NEAR(chi_squared_tail(120.0, 6.0) / 1.629586652937817e-23, 1.0, 1e-10);
}

// Published: SciPy 1.10: stats.norm.cdf, norm.ppf, stats.t.cdf.
TEST(Normal, AgreesWithScipy) {
  EXPECT_NEAR(normal_below(-3.0), 0.0013498980316300933, 1e-16);
  EXPECT_NEAR(normal_below(1.2), 0.8849303297782918, 1e-15);
  EXPECT_NEAR(normal_quantile(0.001), -3.090232306167813, 1e-12);
  EXPECT_NEAR(student_t_below(-3.0, 9.0), 0.007478182, 5e-10);
}

}  // namespace
}  // namespace goodside::stats
