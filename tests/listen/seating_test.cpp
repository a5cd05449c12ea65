#include "listen/seating.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "listen/bench_reports.hpp"

namespace goodside::listen {
namespace {

SeatedOffset offset(double east_m, double north_m, int seating, double sigma_m) {
  double direction_deg = std::atan2(north_m, east_m) * 180.0 / std::numbers::pi;
  if (direction_deg < 0.0) direction_deg += 360.0;
  return {std::hypot(east_m, north_m), sigma_m, direction_deg, seating};
}

// Closed form: two seatings 100 um apart, each to 10 um: S^2 = (50^2 + 50^2)/2, chi squared 2
// (50/10)^2 = 50 with two degrees of freedom, whose tail is exp(-25).
TEST(Hole, OfTwoSeatingsIsTheirMeanWithTheSpread) {
  const std::vector plays{offset(150e-6, 0.0, 1, 10e-6), offset(50e-6, 0.0, 2, 10e-6)};
  const auto hole = hole_of(plays);
  EXPECT_EQ(hole.seatings, 2);
  EXPECT_NEAR(*hole.eccentricity_m, 100e-6, 1e-12);
  EXPECT_NEAR(*hole.eccentricity_direction_deg, 0.0, 1e-9);
  EXPECT_NEAR(*hole.eccentricity_sigma_m, 50e-6 / std::sqrt(2.0), 1e-12);
  EXPECT_NEAR(*hole.seating_spread_m, std::sqrt(2500.0 - 100.0) * 1e-6, 1e-12);
  EXPECT_NEAR(*hole.same_chance / std::exp(-25.0), 1.0, 1e-9);
}

TEST(Hole, OfOneSeatingIsNotToldFromTheSeat) {
  const std::vector plays{offset(100e-6, 0.0, 1, 2e-6), offset(104e-6, 0.0, 1, 2e-6)};
  const auto hole = hole_of(plays);
  EXPECT_EQ(hole.seatings, 1);
  EXPECT_NEAR(*hole.eccentricity_m, 102e-6, 1e-12);
  EXPECT_GT(*hole.eccentricity_sigma_m, 35e-6);
  EXPECT_FALSE(hole.seating_spread_m);
  EXPECT_FALSE(hole.same_chance);
  EXPECT_FALSE(hole_of({}).eccentricity_m);
}

TEST(Hole, SeatingsThatDifferByTheirErrorsHaveNoSpread) {
  const std::vector plays{offset(100e-6, 1e-6, 1, 10e-6), offset(101e-6, 0.0, 2, 10e-6)};
  const auto hole = hole_of(plays);
  EXPECT_FALSE(hole.seating_spread_m);
  EXPECT_GT(*hole.same_chance, 0.9);
  EXPECT_NEAR(*hole.eccentricity_sigma_m, 10e-6 / std::sqrt(2.0), 1e-12);
}

// Property: over drawn seatings the sigma is the error's rms, and the spread the seating's own.
TEST(Hole, SigmaAndSpreadAreThoseOfDrawnSeatings) {
  test::Draws draws{5};
  constexpr int discs = 4000, seatings = 4;
  constexpr double seat_m = 30e-6, sigma_m = 5e-6, east_m = 120e-6, north_m = -40e-6;
  double error = 0.0, stated = 0.0, spread = 0.0;
  for (int k = 0; k < discs; ++k) {
    std::vector<SeatedOffset> plays;
    for (int s = 1; s <= seatings; ++s)
      plays.push_back(offset(east_m + std::hypot(seat_m, sigma_m) * draws.normal(),
                             north_m + std::hypot(seat_m, sigma_m) * draws.normal(),
                             s,
                             sigma_m));
    const auto hole = hole_of(plays);
    const double direction = *hole.eccentricity_direction_deg * std::numbers::pi / 180.0;
    error += std::pow(*hole.eccentricity_m * std::cos(direction) - east_m, 2.0) / discs;
    stated += std::pow(*hole.eccentricity_sigma_m, 2.0) / discs;
    spread += std::pow(hole.seating_spread_m.value_or(0.0), 2.0) / discs;
  }
  EXPECT_NEAR(stated / error, 1.0, 0.1);  // 4 sigma of a variance of 4000 draws: 0.09
  EXPECT_NEAR(std::sqrt(spread) / seat_m, 1.0, 0.05);
}

}  // namespace
}  // namespace goodside::listen
