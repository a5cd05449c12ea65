#include "disc/groove.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "disc/format.hpp"

namespace goodside::disc {
namespace {

constexpr double rpm_33 = 100.0 / 3.0;
constexpr double rpm_78 = 3600.0 / 46.0;

struct Cut {
  double rpm, outer_m, inner_m, pitch_m;
};

works::CutSide side(const Cut& given) {
  works::CutSide cut;
  cut.rpm = given.rpm;
  cut.outer_radius_m = given.outer_m;
  cut.inner_radius_m = given.inner_m;
  cut.pitch_m = given.pitch_m;
  return cut;
}

// Second road: worked by hand from N = (Ro - Ri) / p, t = 60 N / rpm, L = pi (Ro + Ri) N with p
// = 25.4 mm / lines an inch, the speeds being definitions: 33 1/3 = 100/3, 78.261 = 3600/46.
// Tolerance: half the last digit.
TEST(Groove, PlaysAsLongAsItsTurnsTake) {
  struct Row {
    double rpm, lines_per_inch, outer_m, inner_m, turns, minutes, length_m;
    double turns_digit, minutes_digit;
  };
  constexpr Row rows[] = {
      {rpm_33, 250, 0.14605, 0.060325, 843.750, 25.3125, 547.042, 1e-3, 1e-4},
      {rpm_33, 200, 0.14605, 0.060325, 675.000, 20.2500, 437.634, 1e-3, 1e-4},
      {rpm_33, 300, 0.14605, 0.060325, 1012.500, 30.3750, 656.451, 1e-3, 1e-4},
      {45.0, 225, 0.08415, 0.05398, 267.254, 5.93898, 115.974, 1e-3, 1e-5},
      {rpm_78, 96, 0.146, 0.050, 362.835, 4.63622, 223.416, 1e-3, 1e-5},
      {rpm_78, 100, 0.12065, 0.0476, 287.598, 3.67487, 152.017, 1e-3, 1e-5},
  };
  for (const Row& row : rows) {
    const double pitch_m = 0.0254 / row.lines_per_inch;
    const double time_s = playing_time_s({row.outer_m, row.inner_m, pitch_m}, row.rpm);
    EXPECT_NEAR(time_s / 60.0, row.minutes, row.minutes_digit / 2.0 * 1.001);
    const auto groove = Groove::of(side({row.rpm, row.outer_m, 0.0, pitch_m}), time_s);
    ASSERT_TRUE(groove);
    EXPECT_NEAR(groove->turns(), row.turns, row.turns_digit / 2.0 * 1.001);
    EXPECT_NEAR(groove->length_m(), row.length_m, 0.5e-3 * 1.001);
    EXPECT_NEAR(groove->radius_m(time_s), row.inner_m, 1e-12);
  }
}

// Second road: v = 2 pi r rpm / 60 worked by hand, m/s to five decimals.
TEST(Groove, RunsPastTheStylusAtTheSpeedOfItsRadius) {
  constexpr double rows[][3] = {{rpm_33, 0.1463, 0.51068},
                                {rpm_33, 0.060325, 0.21057},
                                {45.0, 0.08415, 0.39655},
                                {45.0, 0.053, 0.24976},
                                {rpm_78, 0.1463, 1.19900},
                                {rpm_78, 0.0476, 0.39010}};
  for (const auto& [rpm, radius_m, speed_m_per_s] : rows)
    EXPECT_NEAR(Groove::of(side({rpm, radius_m, 0.04, 0.0}), 60.0)->speed_m_per_s(0.0),
                speed_m_per_s,
                0.5e-5);
}

TEST(Groove, CountsTurnsAndAnglesFromProgrammeStart) {
  const auto groove = Groove::of(*cut_side("12in-33"), 600.0);
  const GroovePlace place = groove->place(1.8 * 100.25);
  EXPECT_EQ(place.revolution, 100);
  EXPECT_NEAR(place.angle_deg, 90.0, 1e-9);
  EXPECT_EQ(groove->place(0.0).revolution, 0);
  EXPECT_EQ(groove->place(-0.45).revolution, -1);
  EXPECT_NEAR(groove->place(-0.45).angle_deg, 270.0, 1e-9);
}

// Property: place and programme_s invert one another.
TEST(Groove, FindsThePlaceAgainFromRadiusAndAngle) {
  const auto groove = Groove::of(*cut_side("10in-78"), 170.0);
  for (const double time_s : {0.3, 17.77, 88.8, 169.9}) {
    const GroovePlace place = groove->place(time_s);
    EXPECT_NEAR(*groove->programme_s(place.radius_m, place.angle_deg), time_s, 1e-9);
  }
  EXPECT_FALSE(groove->programme_s(0.13, 0.0));
  EXPECT_FALSE(groove->programme_s(0.04, 0.0));
}

// Second road: t = (60/rpm) * integral dr/p(r), here as r(t) = Ro - (rpm/60) * integral p dt by
// trapezoids.
TEST(Groove, FollowsAPitchProfile) {
  works::CutSide cut = side({rpm_33, 0.146, 0.06, 0.0});
  cut.pitch_profile = {{10.0, 100e-6}, {200.0, 140e-6}, {500.0, 90e-6}};
  const auto groove = Groove::of(cut, 600.0);
  ASSERT_TRUE(groove);
  const auto pitch_m = [](double t) {
    if (t < 10.0) return 100e-6;
    if (t < 200.0) return 100e-6 + 40e-6 * (t - 10.0) / 190.0;
    if (t < 500.0) return 140e-6 - 50e-6 * (t - 200.0) / 300.0;
    return 90e-6;
  };
  double radius_m = 0.146;
  constexpr double step_s = 0.01;
  for (int k = 0; k < 60000; ++k) {
    const double t = k * step_s;
    if (k % 6000 == 0) {
      EXPECT_NEAR(groove->radius_m(t), radius_m, 1e-10);
      EXPECT_NEAR(groove->pitch_m(t), pitch_m(t), 1e-12);
    }
    radius_m -= rpm_33 / 60.0 * step_s * (pitch_m(t) + pitch_m(t + step_s)) / 2.0;
  }
}

TEST(Groove, RunsThroughMarksAndNeverOutwards) {
  works::CutSide cut = side({45.0, 0.084, 0.0, 0.0});
  cut.marks = {{0.0, 0.084}, {60.0, 0.078}, {70.0, 0.0779}, {200.0, 0.056}};
  const auto groove = Groove::of(cut, 230.0);
  ASSERT_TRUE(groove);
  for (const works::Mark& mark : cut.marks)
    EXPECT_NEAR(groove->radius_m(mark.programme_s), mark.radius_m, 1e-12);
  for (int k = 0; k < 458; ++k) {
    const double t = k * 0.5;
    EXPECT_GT(groove->radius_m(t), groove->radius_m(t + 0.5)) << t;
  }
  cut.marks = {{100.0, 0.070}};
  EXPECT_NEAR(Groove::of(cut, 200.0)->radius_m(50.0), 0.077, 1e-12);
}

TEST(Groove, RefusesWhatNobodyCanCut) {
  EXPECT_FALSE(Groove::of(side({0.0, 0.14, 0.06, 0.0}), 60.0));
  EXPECT_FALSE(Groove::of(side({rpm_33, -0.14, 0.06, 0.0}), 60.0));
  EXPECT_FALSE(Groove::of(side({rpm_33, 0.06, 0.14, 0.0}), 60.0));
  EXPECT_FALSE(Groove::of(side({rpm_33, 0.14, 0.0, 0.0}), 60.0));
  EXPECT_FALSE(Groove::of(side({rpm_33, 0.14, 0.06, -1e-4}), 60.0));
  EXPECT_FALSE(Groove::of(side({rpm_33, 0.14, 0.06, 0.0}), 0.0));
  EXPECT_FALSE(Groove::of(side({rpm_33, 0.14, 0.06, 0.0}), std::nan("")));
  EXPECT_FALSE(Groove::of(side({rpm_33, std::nan(""), 0.06, 0.0}), 60.0));
  EXPECT_FALSE(Groove::of(side({rpm_33, 0.14, 0.0, 2e-4}), 3600.0));
  works::CutSide cut = side({rpm_33, 0.16, 0.06, 0.0});
  cut.disc_diameter_m = 0.301;
  EXPECT_NE(Groove::of(cut, 60.0).error().text.find("edge"), std::string::npos);
  cut.marks = {{0.0, 0.14}, {10.0, 0.15}};
  EXPECT_FALSE(Groove::of(cut, 60.0));
  cut.marks = {{10.0, 0.14}, {10.0, 0.13}};
  EXPECT_FALSE(Groove::of(cut, 60.0));
}

}  // namespace
}  // namespace goodside::disc
