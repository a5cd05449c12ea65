#include "listen/arm_kinematics.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "listen/played_track.hpp"

namespace goodside::listen {
namespace {

using std::numbers::pi;

constexpr works::Arm nine_inch{.effective_length_m = 0.230, .mounting_distance_m = 0.2135};
constexpr works::Arm twelve_inch{.effective_length_m = 0.3045, .mounting_distance_m = 0.2915};
constexpr works::Arm radial{};

// Second road: the slope of beta against its difference over 2 um.
TEST(ArmKinematics, SlopeOfTheArmAngleIsItsDerivative) {
  for (const auto& arm : {nine_inch, twelve_inch})
    for (const double radius_m : {0.055, 0.0900, 0.1463}) {
      const double step_m = 1e-6;
      const double difference =
          (arm_angle_rad(arm, radius_m + step_m) - arm_angle_rad(arm, radius_m - step_m)) /
          (2.0 * step_m);
      EXPECT_NEAR(arm_turn_rad_per_m(arm, radius_m), difference, 1e-8 * std::abs(difference));
    }
}

// Second road: plane trigonometry at the stylus. The angle between arm and groove is 90 degrees
// less that between arm and radius, which the sides rho, L and D give by the law of cosines.
TEST(ArmKinematics, SlopeIsTheTangentOfTheOffsetAngleOverTheRadius) {
  for (const double radius_m : {0.0603, 0.1000, 0.1463}) {
    const double length_m = nine_inch.effective_length_m;
    const double distance_m = nine_inch.mounting_distance_m;
    const double at_stylus_rad =
        std::acos((radius_m * radius_m + length_m * length_m - distance_m * distance_m) /
                  (2.0 * radius_m * length_m));
    EXPECT_NEAR(radius_m * arm_turn_rad_per_m(nine_inch, radius_m),
                -std::tan(pi / 2.0 - at_stylus_rad),
                1e-12);
  }
}

// Property: an arm with overhang shows an offset 7 to 10 % too large and 20 to 25 degrees turned.
TEST(ArmKinematics, AnOffsetReadsTooLargeAndTurned) {
  for (const double radius_m : {0.0603, 0.1000, 0.1463}) {
    constexpr double small_m = 1e-7;
    const auto swing = [&](double angle_rad) {
      return -offset_turn_rad(nine_inch, {angle_rad, radius_m}, {small_m, 0.0}) * radius_m /
             small_m;
    };
    const double offset_rad = std::atan2(swing(0.0), swing(pi / 2.0));
    EXPECT_GT(offset_rad, 20.0 * pi / 180.0);
    EXPECT_LT(offset_rad, 26.0 * pi / 180.0);
    const double too_large = std::hypot(swing(0.0), swing(pi / 2.0));
    EXPECT_NEAR(too_large, 1.0 / std::cos(offset_rad), 1e-6);
    EXPECT_GT(too_large, 1.06);
    EXPECT_LT(too_large, 1.11);
  }
}

// Second road: the radial tracker's closed form, and its first order.
TEST(ArmKinematics, RadialTrackerSeesTheArgumentAlone) {
  const GrooveOffset offset{2e-4, -1e-4};
  for (int step = -8; step <= 8; ++step) {
    const double angle_rad = 0.37 * step;
    const std::complex<double> point =
        std::polar(0.1, angle_rad) + std::complex<double>{offset.along_m, offset.across_m};
    const double turn_rad = offset_turn_rad(radial, {angle_rad, 0.1}, offset);
    EXPECT_NEAR(turn_rad, std::arg(point * std::polar(1.0, -angle_rad)), 1e-15);
    const double first_order =
        (offset.across_m * std::cos(angle_rad) - offset.along_m * std::sin(angle_rad)) / 0.1;
    EXPECT_NEAR(turn_rad, first_order, 5e-6);  // (e/r)^2
  }
}

// Second road: a side played by the geometry alone (stylus on the arc, turned groove), without any
// offset.
TEST(ArmKinematics, SteadyDriftIsThatOfThePlayedSide) {
  testing::Played how;
  how.arm = nine_inch;
  how.wander_rms = how.flutter = how.noise_s = 0.0;
  how.length_s = 1.8;
  for (const double radius_m : {0.1463, 0.1000, 0.0650}) {
    how.outer_radius_m = radius_m;
    const auto played = testing::play(how);
    const double rate =
        (played.true_programme_s.back() - played.true_programme_s.front()) / how.length_s - 1.0;
    const double middle_m = radius_m - 0.5 * how.pitch_m;
    EXPECT_NEAR(arm_drift(nine_inch, middle_m, how.pitch_m), rate, 1e-8);
    EXPECT_LT(rate, 0.0);
  }
}

TEST(ArmKinematics, SaysWhatAnArmCannotReach) {
  EXPECT_TRUE(reaches(nine_inch, 0.1463));
  EXPECT_FALSE(reaches(nine_inch, 0.010));
  EXPECT_FALSE(reaches(nine_inch, 0.500));
  EXPECT_FALSE(reaches(radial, -0.1));
  EXPECT_FALSE(reaches(radial, std::nan("")));
  EXPECT_TRUE(reaches(radial, 0.1));
}

}  // namespace
}  // namespace goodside::listen
