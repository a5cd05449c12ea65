#include "disc/tracking.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "disc/format.hpp"

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double side_s = 900.0;
constexpr works::Arm usual_arm{0.2302, 0.2148};

works::PlayedSide played(double eccentricity_m, double direction_deg, works::Arm arm = {}) {
  works::PlayedSide play;
  play.side = *cut_side("12in-33");
  play.eccentricity_m = eccentricity_m;
  play.eccentricity_direction_deg = direction_deg;
  play.arm = arm;
  return play;
}

struct Rig {
  explicit Rig(const works::PlayedSide& play)
      : groove{*Groove::of(play.side, side_s)}, tracking{*Tracking::of(play, groove, 0.0532)} {}
  /// d programme / d platter time - 1, by a central difference.
  double deviation(double programme_s) const {
    const double here_rad = tracking.platter_rad(programme_s);
    constexpr double step_rad = 1e-3;
    const double turned_s = 2.0 * step_rad / tau * groove.turn_s();
    return (tracking.programme_s(here_rad + step_rad) - tracking.programme_s(here_rad - step_rad)) /
               turned_s -
           1.0;
  }
  Groove groove;
  Tracking tracking;
};

// Second road: the groove point is turned into the room and must lie on the arm's circle, and on
// the same side of it.
TEST(Tracking, PutsTheStylusWhereArmAndGrooveMeet) {
  const Rig rig{played(0.4e-3, 130.0, usual_arm)};
  const auto stylus = [&](double programme_s) {
    const double platter_rad = rig.tracking.platter_rad(programme_s);
    const double theta = tau * programme_s / rig.groove.turn_s();
    const double r = rig.groove.radius_m(programme_s);
    const double x =
        0.4e-3 * std::cos(130.0 * tau / 360.0 - platter_rad) + r * std::cos(theta - platter_rad);
    const double y =
        0.4e-3 * std::sin(130.0 * tau / 360.0 - platter_rad) + r * std::sin(theta - platter_rad);
    return std::pair{x, y};
  };
  // Three stylus places give the circle's centre and radius.
  const auto [x1, y1] = stylus(0.0);
  const auto [x2, y2] = stylus(400.0);
  const auto [x3, y3] = stylus(899.0);
  const double a = 2.0 * ((x2 - x1) * (y3 - y1) - (y2 - y1) * (x3 - x1));
  const double s2 = x2 * x2 - x1 * x1 + y2 * y2 - y1 * y1;
  const double s3 = x3 * x3 - x1 * x1 + y3 * y3 - y1 * y1;
  const double cx = (s2 * (y3 - y1) - s3 * (y2 - y1)) / a;
  const double cy = (s3 * (x2 - x1) - s2 * (x3 - x1)) / a;
  EXPECT_NEAR(std::hypot(x1 - cx, y1 - cy), usual_arm.effective_length_m, 1e-9);
  EXPECT_NEAR(std::hypot(cx, cy), usual_arm.mounting_distance_m, 1e-9);
  for (int k = 0; k < 123; ++k) {
    const double t = k * 7.3;
    const auto [x, y] = stylus(t);
    EXPECT_NEAR(std::hypot(x - cx, y - cy), usual_arm.effective_length_m, 1e-9) << t;
    // Clockwise rotation draws the stylus away from the pivot: the pivot stands ahead of it,
    // counter-clockwise.
    EXPECT_GT(x * cy - y * cx, 0.0);
  }
}

// Property: the closed form and its inverse agree to rounding, warp included.
TEST(Tracking, InvertsToRounding) {
  works::PlayedSide play = played(0.3e-3, 40.0, usual_arm);
  play.warp.height_m = 0.5e-3;
  const Rig rig{play};
  for (int k = 0; k < 661; ++k) {
    const double t = -3.0 + k * 1.37;
    EXPECT_NEAR(rig.tracking.programme_s(rig.tracking.platter_rad(t)), t, 2e-11) << t;
  }
}

// Published: the kinematic wow of an offset hole, dv/v = (e/r) cos(theta - phi), common to every
// text on the subject. Second road, for a radial tracker and a closed groove, q = e/r, x = theta -
// phi: dA/d theta is (1 + q cos x) / (1 + 2 q cos x + q^2), so the rate is 1 + (q cos x + q^2) / (1
// + q cos x) = 1 + q cos x + q^2 sin^2 x + O(q^3).
TEST(Tracking, SwaysByOffsetOverRadiusToSecondOrder) {
  constexpr double offset_m = 1e-3;
  constexpr double direction_deg = 70.0;
  const Rig rig{played(offset_m, direction_deg)};
  for (int k = 0; k < 72; ++k) {
    const double t = 300.0 + k * 0.05;
    const double r = rig.groove.radius_m(t);
    const double q = offset_m / r;
    const double x = tau * t / rig.groove.turn_s() - direction_deg * tau / 360.0;
    const double first = q * std::cos(x);
    // The spiral's own step inwards turns the point seen from the hole by up to e pitch / (2 pi
    // r^2).
    const double spiral = offset_m * rig.groove.pitch_m(t) / (tau * r * r);
    EXPECT_NEAR(rig.deviation(t), first, 1.1 * q * q);
    EXPECT_NEAR(
        rig.deviation(t), first + q * q * std::sin(x) * std::sin(x), 1.1 * (q * q * q + spiral));
    EXPECT_NEAR(rig.deviation(t), (first + q * q) / (1.0 + first), 1.1 * spiral);
  }
}

// Second road: peak figures worked by hand from e/r in per cent: 0.1 mm at 146.3 and at 60.325 mm,
// 0.2 mm at 60.325 mm.
TEST(Tracking, ReachesTheHandWorkedPeaks) {
  constexpr double rows[][3] = {
      {0.1e-3, 0.1463, 0.06835e-2}, {0.1e-3, 0.060325, 0.16577e-2}, {0.2e-3, 0.060325, 0.33154e-2}};
  for (const auto& [offset_m, radius_m, peak] : rows) {
    works::PlayedSide play = played(offset_m, 0.0);
    play.side.outer_radius_m = radius_m + 0.5e-6;
    play.side.inner_radius_m = radius_m - 0.5e-6;
    const Rig rig{play};
    double low = 0.0;
    double high = 0.0;
    for (int k = 0; k < 180; ++k) {
      const double t = 450.0 + k * 0.01;
      low = std::min(low, rig.deviation(t));
      high = std::max(high, rig.deviation(t));
    }
    EXPECT_NEAR((high - low) / 2.0, peak, 0.5e-7 + 2.0 * std::pow(offset_m / radius_m, 3) + 1e-8);
  }
}

// A pivoted arm makes the same hole look farther off and turned. Second road: first-order geometry.
// The stylus moves sideways by e sin x d psi/d rho as the groove comes and goes, which adds (e/r)
// tan(beta) sin x to the sway, beta the angle between groove and arm's motion: amplitude
// 1/cos(beta), direction turned by beta.
TEST(Tracking, APivotedArmEnlargesAndTurnsTheSway) {
  constexpr double offset_m = 0.1e-3;
  const Rig rig{played(offset_m, 0.0, usual_arm)};
  constexpr double t0 = 450.0;  // a whole number of turns
  const double r = rig.groove.radius_m(t0);
  const double length = usual_arm.effective_length_m;
  const double mount = usual_arm.mounting_distance_m;
  const double cosine = (mount * mount + r * r - length * length) / (2.0 * mount * r);
  const double turned = (r * r - mount * mount + length * length) / (2.0 * mount * r) /
                        std::sqrt(1.0 - cosine * cosine);
  double in_phase = 0.0;
  double across = 0.0;
  constexpr int points = 360;
  for (int k = 0; k < points; ++k) {
    const double x = tau * k / points;
    const double deviation = rig.deviation(t0 + rig.groove.turn_s() * k / points);
    in_phase += 2.0 / points * deviation * std::cos(x);
    across += 2.0 / points * deviation * std::sin(x);
  }
  EXPECT_NEAR(
      std::hypot(in_phase, across), offset_m / r * std::hypot(1.0, turned), 0.01 * offset_m / r);
  EXPECT_NEAR(std::abs(std::atan2(across, in_phase)), std::atan(turned), 0.01);
  EXPECT_GT(std::atan(turned), 0.3);
}

// Second road: over a whole side the arm itself turns about the pivot by the change of the angle at
// the spindle between pivot and stylus, by the law of cosines; on a centred disc with overhang the
// programme is so much slower.
TEST(Tracking, APivotedArmReadsTheSideSlower) {
  const Rig rig{played(0.0, 0.0, usual_arm)};
  const auto at_spindle_rad = [](double r) {
    const double length = usual_arm.effective_length_m;
    const double mount = usual_arm.mounting_distance_m;
    return std::acos((mount * mount + r * r - length * length) / (2.0 * mount * r));
  };
  const double swing_rad =
      at_spindle_rad(rig.groove.radius_m(side_s)) - at_spindle_rad(rig.groove.radius_m(0.0));
  EXPECT_GT(swing_rad, 0.1);
  EXPECT_NEAR(rig.tracking.platter_rad(side_s), tau * rig.groove.turns() + swing_rad, 1e-9);
}

// A dish without lobes gives no wow; a saddle of amplitude z read by an arm whose pivot stands H
// above the disc gives dv = (H/L) dz/dt. Second road: 0.5 mm, twice a turn at 33 1/3, H 20 mm, L
// 230 mm: dz/dt 3.4907 mm/s, dv 0.30354 mm/s.
TEST(Tracking, AWarpDrawsTheStylusAlong) {
  works::PlayedSide play = played(0.0, 0.0);
  play.warp.height_m = 0.5e-3;
  play.warp.lobes = 2;
  play.side.outer_radius_m = 0.1463 + 0.5e-6;
  play.side.inner_radius_m = 0.1463 - 0.5e-6;
  play.side.disc_diameter_m = 2.0 * (0.1463 + 1e-6);
  const Rig rig{play};
  double peak = 0.0;
  for (int k = 0; k < 360; ++k) peak = std::max(peak, rig.deviation(450.0 + k * 0.005));
  EXPECT_NEAR(peak * rig.groove.speed_m_per_s(450.0), 0.30354e-3, 0.3e-6);
}

TEST(Tracking, RefusesAnArmThatDoesNotReachAndAnAbsurdOffset) {
  const Groove groove = *Groove::of(*cut_side("12in-33"), side_s);
  EXPECT_FALSE(Tracking::of(played(0.0, 0.0, {0.3, 0.2}), groove, 0.0532));
  EXPECT_FALSE(Tracking::of(played(0.0, 0.0, {0.05, 0.05}), groove, 0.0532));
  EXPECT_FALSE(Tracking::of(played(-1e-4, 0.0), groove, 0.0532));
  EXPECT_FALSE(Tracking::of(played(0.01, 0.0), groove, 0.0532));
  EXPECT_FALSE(Tracking::of(played(std::nan(""), 0.0), groove, 0.0532));
}

}  // namespace
}  // namespace goodside::disc
