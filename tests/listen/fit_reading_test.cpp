#include "listen/fit_reading.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <utility>

namespace goodside::listen {
namespace {

GrooveReading start() {
  return {0.0, 0.0, 100.0 / 3.0, [](double) { return 0.1; }};
}

/// A side that leaves `floor` and the squares of how far strength and limiting are off, as energies add.
struct Side {
  double strength_m2, limiting, floor;
  std::set<std::pair<double, double>> tried;

  TryReadings tries() {
    return [this](std::span<const GrooveReading> readings, std::span<Leftover> left) -> Outcome {
      for (std::size_t k = 0; k < readings.size(); ++k) {
        const double strength = (readings[k].strength_m2 - strength_m2) / 1e-6;
        const double limit = 0.5 * (readings[k].limiting - limiting);
        left[k] = {100.0 * std::log(floor + strength * strength + limit * limit), 100.0};
        tried.emplace(readings[k].strength_m2, readings[k].limiting);
      }
      return Done{};
    };
  }
};

// Property: the reading that leaves least is found, whatever the sense, and so is that there is nothing to find.
TEST(FitReading, FindsStrengthAndLimiting) {
  for (const double strength_m2 : {0.3e-6, 1.04e-6, -0.8e-6, 2.9e-6})
    for (const double limiting : {0.0, 1.36}) {
      Side side{strength_m2, limiting, 0.05, {}};
      const auto reading = fit_reading(start(), side.tries());
      ASSERT_TRUE(reading);
      EXPECT_NEAR(reading->strength_m2, strength_m2, 0.15 * std::abs(strength_m2) + 0.05e-6);
      EXPECT_NEAR(reading->limiting, limiting, 0.2);
      EXPECT_DOUBLE_EQ(reading->rpm, 100.0 / 3.0);
      EXPECT_LE(side.tried.size(), 15U);
    }
}

TEST(FitReading, LeavesAloneWhatGainsNothing) {
  Side side{0.0, 0.0, 1.0, {}};
  const auto reading = fit_reading(start(), side.tries());
  ASSERT_TRUE(reading);
  EXPECT_EQ(reading->strength_m2, 0.0);
  EXPECT_EQ(reading->limiting, 0.0);
}

TEST(FitReading, HandsOnAnError) {
  const auto reading =
      fit_reading(start(), [](std::span<const GrooveReading>, std::span<Leftover>) -> Outcome {
        return Error{Fault::conflict, "stopped"};
      });
  ASSERT_FALSE(reading);
  EXPECT_EQ(reading.error().text, "stopped");
}

}  // namespace
}  // namespace goodside::listen
