#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <optional>
#include <random>
#include <tuple>

#include "metal/offset_fit.hpp"

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
double exact_position(double angle_rad, double x, double y) {
  constexpr double radius = 53.2e-3;
  const double along = x * std::cos(angle_rad) + y * std::sin(angle_rad);
  const double across = x * std::sin(angle_rad) - y * std::cos(angle_rad);
  return along + std::sqrt(radius * radius - across * across);
}

/// How often the 90 % intervals of x and of y, and the region, hold the truth.
struct Covered {
  double x{}, y{}, region{}, left_out{};
};

enum class Noise { normal, heavy, one_bad };

Covered cover(const std::vector<double>& angles,
              int repeats,
              Noise noise,
              double out_of_round_um,
              std::optional<double> known_sigma_m,
              int plates,
              double angle_scatter_um = 0.0) {
  std::mt19937_64 engine{20261126};
  std::normal_distribution<double> normal;
  std::student_t_distribution<double> heavy{3.0};
  std::uniform_real_distribution<double> share;
  Covered covered;
  for (int plate = 0; plate < plates; ++plate) {
    const double turn = 360.0 * share(engine);
    const double x = 60 * um * (share(engine) - 0.5), y = 60 * um * (share(engine) - 0.5);
    OffsetQuestion question{.readings = {}, .reading_sigma_m = known_sigma_m, .radius_m = 53.2e-3};
    for (const double angle : angles) {
      const double t = (angle + turn) * degree;
      const double own = angle_scatter_um * um * normal(engine);
      for (int k = 0; k < repeats; ++k)
        question.readings.push_back(
            {t,
             exact_position(t, x, y) + own + out_of_round_um * um * std::cos(2 * t) +
                 5 * um *
                     (noise == Noise::heavy ? heavy(engine) / std::sqrt(3.0) : normal(engine))});
    }
    if (noise == Noise::one_bad)
      question
          .readings[static_cast<std::size_t>(share(engine) *
                                             static_cast<double>(question.readings.size()))]
          .position_m += 150 * um;
    const auto fit = fit_offset(question);
    if (!fit || !fit->region) continue;
    covered.x += x >= *fit->x_low_m && x <= *fit->x_high_m ? 1.0 / plates : 0.0;
    covered.y += y >= *fit->y_low_m && y <= *fit->y_high_m ? 1.0 / plates : 0.0;
    const double dx = (x - fit->x_m), dy = (y - fit->y_m);
    const double a = fit->region->major_direction_deg * degree;
    covered.region +=
        std::hypot((dx * std::cos(a) + dy * std::sin(a)) / fit->region->half_major_m,
                   (dy * std::cos(a) - dx * std::sin(a)) / fit->region->half_minor_m) <= 1.0
            ? 1.0 / plates
            : 0.0;
    for (const auto& one : fit->readings) covered.left_out += one.kept ? 0.0 : 1.0 / plates;
  }
  return covered;
}

// Property: the stated confidence, by simulation. 20,000 plates place a share of 90 % to 0.21 % (one sigma); the band
// asked for is 88 to 92 %.
TEST(OffsetFit, NinetyPerCentIntervalsHoldTheTruthThatOften) {
  constexpr int plates = 6'000;
  const std::vector<double> uneven{0, 20, 45, 110, 130, 200, 215, 300},
      lopsided{0, 15, 30, 60, 90, 120, 150, 180, 200};
  struct Case {
    const char* name;
    std::vector<double> angles;
    int repeats;
    Noise noise;
    double out_of_round_um;
    std::optional<double> sigma_m;
    double angle_scatter_um;
  };
  const std::vector<Case> cases{
      {"four", even(4), 1, Noise::normal, 0, {}, 0},
      {"five", even(5), 1, Noise::normal, 0, {}, 0},
      {"six", even(6), 1, Noise::normal, 20, {}, 0},
      {"eight", even(8), 1, Noise::normal, 20, {}, 0},
      {"twelve", even(12), 1, Noise::normal, 20, {}, 0},
      {"thirty-six", even(36), 1, Noise::normal, 20, {}, 0},
      {"uneven", uneven, 1, Noise::normal, 20, {}, 0},
      {"lopsided", lopsided, 1, Noise::normal, 20, {}, 0},
      {"three repeated", even(3), 4, Noise::normal, 0, {}, 0},
      {"four repeated", even(4), 3, Noise::normal, 0, {}, 0},
      {"eight repeated", even(8), 3, Noise::normal, 20, {}, 0},
      {"eight repeated, groove uneven", even(8), 3, Noise::normal, 20, {}, 8},
      {"three, scatter known", even(3), 1, Noise::normal, 0, 5 * um, 0},
      {"six, scatter known", even(6), 1, Noise::normal, 20, 5 * um, 0},
  };
  for (const auto& one : cases) {
    const auto covered = cover(one.angles,
                               one.repeats,
                               one.noise,
                               one.out_of_round_um,
                               one.sigma_m,
                               plates,
                               one.angle_scatter_um);
    EXPECT_GT(covered.x, 0.88) << one.name;
    EXPECT_LT(covered.x, 0.92) << one.name;
    EXPECT_GT(covered.y, 0.88) << one.name;
    EXPECT_LT(covered.y, 0.92) << one.name;
    EXPECT_GT(covered.region, 0.88) << one.name;
    EXPECT_LT(covered.region, 0.92) << one.name;
  }
  for (const auto& [name, angles, repeats, noise] :
       {std::tuple{"eight heavy", even(8), 1, Noise::heavy},
        {"twelve heavy", even(12), 1, Noise::heavy},
        {"24 heavy", even(24), 1, Noise::heavy},
        {"uneven heavy", uneven, 1, Noise::heavy},
        {"twelve, one bad", even(12), 1, Noise::one_bad},
        {"nine, one bad", even(9), 1, Noise::one_bad},
        {"eight, one bad", even(8), 1, Noise::one_bad},
        {"eight repeated, one bad", even(8), 3, Noise::one_bad}}) {
    const auto covered = cover(angles, repeats, noise, 0, {}, plates);
    EXPECT_GT(covered.x, 0.88) << name;
    EXPECT_LT(covered.x, 0.92) << name;
    EXPECT_GT(covered.y, 0.88) << name;
    EXPECT_LT(covered.y, 0.92) << name;
  }
}

}  // namespace
}  // namespace goodside::metal
