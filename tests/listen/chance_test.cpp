#include "listen/chance.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace goodside::listen {
namespace {

// Published: SciPy 1.10.1, scipy.stats.exponnorm.pdf(x, mean/sigma, 0, sigma), to 13 digits.
TEST(ExponentialPlusNormalDensity, AgreesWithSciPy) {
  struct Row {
    double x, mean, sigma, density;
  };
  constexpr Row rows[] = {
      {0.0, 5.0, 1.0, 8.5847961646695e-02},
      {-2.0, 5.0, 0.5, 6.1943703517842e-06},
      {3.0, 5.0, 0.3, 1.0996007732951e-01},
      {12.0, 5.0, 2.0, 1.9654716910221e-02},
      {-0.7, 2.0, 1.5, 1.0515131134389e-01},
      {40.0, 5.0, 1.0, 6.8447884503008e-05},
  };
  for (const auto& row : rows)
    EXPECT_NEAR(
        exponential_plus_normal_density(row.x, row.mean, row.sigma) / row.density, 1.0, 1e-11)
        << row.x;
}

// Published: the expansion of the Rayleigh test's chance, evaluated in NumPy 1.24: n = 20, R = 0.5
// gives 0.005434; n = 10, R = 0.6 gives 0.02300 (half a unit of the last digit).
TEST(RayleighChance, AgreesWithTheExpansionInNumPy) {
  EXPECT_NEAR(rayleigh_chance(20, 0.5), 0.005434, 0.5e-6);
  EXPECT_NEAR(rayleigh_chance(10, 0.6), 0.02300, 0.5e-5);
}

// Second road: the share of uniform draws with so large a resultant, counted; four standard errors.
TEST(RayleighChance, IsTheShareOfUniformAnglesThatReachIt) {
  constexpr int draws = 40000, n = 10;
  int reached = 0;
  unsigned long long state = 12345;
  for (int d = 0; d < draws; ++d) {
    std::vector<double> angles_deg;
    for (int i = 0; i < n; ++i) {
      state = state * 6364136223846793005ULL + 1442695040888963407ULL;
      angles_deg.push_back(360.0 * static_cast<double>(state >> 11) * 0x1p-53);
    }
    if (rayleigh_test(angles_deg).resultant >= 0.5) ++reached;
  }
  const double chance = rayleigh_chance(n, 0.5);
  EXPECT_NEAR(reached / double{draws}, chance, 4.0 * std::sqrt(chance / draws));
}

// Property: turning every angle turns the direction and nothing else.
TEST(RayleighTest, DoesNotCareWhereTheTurnBegins) {
  const std::vector<double> angles_deg{350.0, 0.0, 25.0};
  const std::vector<double> turned_deg{80.0, 90.0, 115.0};
  const auto test = rayleigh_test(angles_deg), turned = rayleigh_test(turned_deg);
  EXPECT_NEAR(turned.direction_deg - test.direction_deg, 90.0, 1e-9);
  EXPECT_NEAR(turned.resultant, test.resultant, 1e-12);
  EXPECT_EQ(rayleigh_test({}).chance, 1.0);
}

}  // namespace
}  // namespace goodside::listen
