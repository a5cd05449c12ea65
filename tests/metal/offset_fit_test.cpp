#include "metal/offset_fit.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "metal/move_plate.hpp"

namespace goodside::metal {
namespace {

constexpr double um = 1e-6;
constexpr double degree = std::numbers::pi / 180.0;

std::vector<double> even(int count) {
  std::vector<double> angles;
  for (int i = 0; i < count; ++i) angles.push_back(360.0 * i / count);
  return angles;
}

/// A round groove of 53.2 mm, its centre at (x, y): the exact distance from the axis, not the series.
double exact_position(double angle_rad, double x, double y, double radius = 53.2e-3) {
  const double along = x * std::cos(angle_rad) + y * std::sin(angle_rad);
  const double across = x * std::sin(angle_rad) - y * std::cos(angle_rad);
  return along + std::sqrt(radius * radius - across * across);
}

std::vector<works::GrooveReading> of_angles(const std::vector<double>& angles_deg,
                                            double x,
                                            double y) {
  std::vector<works::GrooveReading> readings;
  for (const double angle : angles_deg)
    readings.push_back({angle * degree, exact_position(angle * degree, x, y)});
  return readings;
}

// Published: NumPy 1.24 linalg.lstsq and SciPy 1.10 stats (tests/published/centring/values.py).
TEST(OffsetFit, AgreesWithSciPy) {
  const double angle_deg[] = {3, 40, 95, 131, 180, 222, 260, 305, 341};
  const double position_um[] = {
      53269.7, 53235.0, 53148.1, 53120.5, 53145.7, 53182.4, 53218.2, 53259.2, 53270.3};
  OffsetQuestion question;
  for (std::size_t i = 0; i < 9; ++i)
    question.readings.push_back({angle_deg[i] * degree, position_um[i] * um});
  const auto fit = fit_offset(question);
  ASSERT_TRUE(fit) << fit.error().text;
  EXPECT_NEAR(fit->x_m / um, 63.85045092491518, 1e-8);
  EXPECT_NEAR(fit->y_m / um, -36.27894574908701, 1e-8);
  EXPECT_NEAR(*fit->x_sigma_m / um, 1.31658849650492, 1e-9);
  EXPECT_NEAR(*fit->y_sigma_m / um, 1.384285170713123, 1e-9);
  EXPECT_NEAR(fit->correlation, 0.03454791701245651, 1e-9);
  EXPECT_NEAR(*fit->x_low_m / um, 61.04368597629678, 1e-8);
  EXPECT_NEAR(*fit->y_high_m / um, -33.32786186345068, 1e-8);
  EXPECT_NEAR(
      fit->out_of_round->amplitude_m / um, std::hypot(7.986279483898663, 7.193474040508537), 1e-8);
  EXPECT_NEAR(*fit->out_of_round->chance, 0.003083880122630804, 1e-11);
  EXPECT_NEAR(fit->region->half_major_m / um, 4.091847267329739, 1e-8);
  EXPECT_NEAR(fit->region->half_minor_m / um, 3.85006735925208, 1e-8);
  EXPECT_NEAR(fit->region->major_direction_deg, 72.72161274212947, 1e-6);
  EXPECT_EQ(fit->degrees_of_freedom, 4.0);
}

// Property: exact readings of an exact circle give the offset back, however they are spread, to second order in e/R
// with the radius given: 1 mm of offset leaves under 10 nm.
TEST(OffsetFit, GivesAnExactCircleBack) {
  for (const auto& angles :
       {even(3), even(6), std::vector<double>{5, 60, 100, 200, 290, 310, 355, 20}}) {
    OffsetQuestion question{.readings = of_angles(angles, 0.8e-3, -0.6e-3), .radius_m = 53.2e-3};
    const auto fit = fit_offset(question);
    ASSERT_TRUE(fit) << fit.error().text;
    EXPECT_NEAR(fit->x_m, 0.8e-3, 1e-8);
    EXPECT_NEAR(fit->y_m, -0.6e-3, 1e-8);
  }
}

// Property: any zero of the gauge, and a turn of all angles turns the vector.
TEST(OffsetFit, NeitherTheZeroNorTheStartMatters) {
  const std::vector<double> angles{0, 50, 130, 170, 240, 300, 330};
  auto readings = of_angles(angles, 40 * um, 25 * um);
  for (std::size_t i = 0; i < readings.size(); ++i) readings[i].position_m += (i % 2 ? 3 : -2) * um;
  const auto here = fit_offset({.readings = readings});
  for (auto& one : readings) one.position_m -= 53.0e-3, one.angle_rad += 90 * degree;
  const auto there = fit_offset({.readings = readings});
  ASSERT_TRUE(here && there);
  EXPECT_NEAR(there->x_m, -here->y_m, 1e-12);
  EXPECT_NEAR(there->y_m, here->x_m, 1e-12);
  EXPECT_NEAR(there->region->farthest_m, here->region->farthest_m, 1e-10);
}

// Property: a spiral followed inwards is no offset once its way is known; taken as closed, it is a third of its pitch.
TEST(OffsetFit, TakesTheSpiralsWayOff) {
  auto readings = of_angles(even(36), 0.0, 0.0);
  for (auto& one : readings) one.position_m -= 100 * um * one.angle_rad / (2.0 * std::numbers::pi);
  const auto followed = fit_offset({.readings = readings, .inward_per_turn_m = 100 * um});
  const auto closed = fit_offset({.readings = readings});
  ASSERT_TRUE(followed && closed);
  EXPECT_NEAR(std::hypot(followed->x_m, followed->y_m), 0.0, 1e-12);
  EXPECT_NEAR(std::hypot(closed->x_m, closed->y_m), 100 * um / std::numbers::pi, 0.2 * um);
}

TEST(OffsetFit, TellsOutOfRoundFromOffCentre) {
  auto readings = of_angles(even(12), 30 * um, 0.0);
  for (std::size_t i = 0; i < readings.size(); ++i)
    readings[i].position_m += 20 * um * std::cos(2.0 * (readings[i].angle_rad - 30 * degree)) +
                              (i % 3 == 0 ? um : -0.5 * um);
  const auto fit = fit_offset({.readings = readings});
  ASSERT_TRUE(fit && fit->out_of_round);
  EXPECT_NEAR(fit->x_m / um, 30.0, 0.6);
  EXPECT_NEAR(fit->out_of_round->amplitude_m / um, 20.0, 0.6);
  EXPECT_NEAR(fit->out_of_round->direction_deg, 30.0, 1.0);
  EXPECT_LT(*fit->out_of_round->chance, 1e-6);
}

// Second road, by hand: of three even angles the second harmonic is the first one over again, cos 2t = cos t at 0, 120
// and 240 degrees, so that 20 um of out-of-round passes whole for offset; the answer must not be sure of it.
TEST(OffsetFit, ThreeEvenReadingsTakeOutOfRoundForOffset) {
  std::vector<works::GrooveReading> readings;
  for (const double angle : even(3))
    readings.push_back({angle * degree, 53.2e-3 + 20 * um * std::cos(2.0 * angle * degree)});
  const auto fit = fit_offset({.readings = readings});
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->x_m / um, 20.0, 1e-6);
  EXPECT_FALSE(fit->region);
  EXPECT_FALSE(fit->out_of_round);
  const auto judged = judge_centring(*fit, {.offset_m = 0.2e-3});
  EXPECT_EQ(judged.standing, works::CentringStanding::undecided);
  EXPECT_EQ(judged.more_readings, 5);
}

TEST(OffsetFit, FiveGiveAFigureAndSixAJudgement) {
  const auto five = fit_offset({.readings = of_angles(even(5), 10 * um, 0)});
  const auto six = fit_offset({.readings = of_angles(even(6), 10 * um, 0)});
  ASSERT_TRUE(five && six);
  EXPECT_TRUE(five->out_of_round && !five->out_of_round->chance);
  EXPECT_TRUE(six->out_of_round && six->out_of_round->chance);
}

TEST(OffsetFit, LeavesABadReadingOut) {
  for (const std::size_t bad : {0U, 3U, 7U}) {
    auto readings = of_angles(even(8), 50 * um, -20 * um);
    for (std::size_t i = 0; i < readings.size(); ++i)
      readings[i].position_m += (i % 2 == 0 ? 2 : -2) * um;
    readings[bad].position_m += 300 * um;
    const auto fit = fit_offset({.readings = readings});
    ASSERT_TRUE(fit);
    EXPECT_FALSE(fit->readings[bad].kept);
    EXPECT_NEAR(fit->x_m / um, 50.0, 6.0);
    EXPECT_NEAR(fit->y_m / um, -20.0, 6.0);
  }
}

TEST(OffsetFit, TwoBadReadingsDoNotHideEachOther) {
  auto readings = of_angles(even(16), 0, 0);
  for (std::size_t i = 0; i < readings.size(); ++i)
    readings[i].position_m += (i % 2 == 0 ? 2 : -2) * um;
  readings[4].position_m += 200 * um;
  readings[5].position_m += 190 * um;
  const auto fit = fit_offset({.readings = readings});
  ASSERT_TRUE(fit);
  EXPECT_FALSE(fit->readings[4].kept || fit->readings[5].kept);
  EXPECT_LT(std::hypot(fit->x_m, fit->y_m), 5 * um);
}

TEST(OffsetFit, RefusesWhatSettlesNoCentre) {
  const auto text = [](const std::vector<works::GrooveReading>& readings) {
    const auto fit = fit_offset({.readings = readings});
    return fit ? std::string{} : fit.error().text;
  };
  EXPECT_NE(text(of_angles({0, 90}, 0, 0)).find("at least three"), std::string::npos);
  EXPECT_NE(text(of_angles({45, 45, 45, 405}, 0, 0)).find("at one angle"), std::string::npos);
  EXPECT_NE(text(of_angles({0, 0, 180, 180}, 0, 0)).find("at 2 angles"), std::string::npos);
  EXPECT_NE(text(of_angles({0, 10, 20, 30}, 0, 0)).find("close together"), std::string::npos);
  EXPECT_NE(text({{0, 0.05}, {2, NAN}, {4, 0.05}}).find("reading 2"), std::string::npos);
  EXPECT_NE(text({{0, 0.05}, {2, INFINITY}, {4, 0.05}}).find("reading 2"), std::string::npos);
  EXPECT_NE(text({{0, 0.05}, {2, 50.0}, {4, 0.05}}).find("reading 2"), std::string::npos);
}

}  // namespace
}  // namespace goodside::metal
