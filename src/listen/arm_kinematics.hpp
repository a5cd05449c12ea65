#pragma once
#include "works/side.hpp"

namespace goodside::listen {

/// Where the groove's centre lies as seen from the hole, in groove angle: e cos phi and e sin phi.
struct GrooveOffset {
  double along_m{}, across_m{};
};

/// A place on the groove: its angle and radius about the groove's own centre.
struct GroovePlace {
  double angle_rad{}, radius_m{};
};

// How a tracking error turns the stylus: the pivoted arm swings over an arc, so a stylus that moves
// out by d rho also moves round the spindle by d beta. A radial tracker has an Arm of zeros: beta
// is constant.
//
// Geometry, seen from above: disc turning clockwise, pivot outside the disc at distance D from the
// spindle, stylus at distance L from the pivot and rho from the spindle, groove dragging the stylus
// away from the pivot. beta is the angle at the spindle between pivot and stylus:  cos beta =
// (rho^2 + D^2 - L^2)/(2 rho D).

/// True when an arm of this geometry can reach `radius_m`; true for a radial tracker at any radius
/// > 0.
bool reaches(const works::Arm& arm, double radius_m);

/// beta [rad] in (0, pi); 0 for a radial tracker. Precondition: reaches(arm, radius_m).
double arm_angle_rad(const works::Arm& arm, double radius_m);

/// d beta/d rho [rad/m] = -tan(offset)/rho, where sin(offset) = (rho^2 + L^2 - D^2)/(2 rho L) is
/// the angle between arm and groove. Negative for an arm with overhang; 0 for a radial tracker.
double arm_turn_rad_per_m(const works::Arm& arm, double radius_m);

/// Steady part of d(programme)/d(capture) - 1 that the arm alone causes while the groove leads it
/// inwards: u/(1 - u) with u = (d beta/d rho) pitch/(2 pi); a fraction, negative (reads low) for
/// the usual arm.
double arm_drift(const works::Arm& arm, double radius_m, double pitch_m);

/// Turn of the disc [rad] that brings `place` under the stylus, less what it would be without an
/// offset:
///   arg(1 + (e/r) exp(i(phi - theta))) + beta(|r exp(i theta) + e exp(i phi)|) - beta(r).
/// Exact for any offset within the arm's reach. To first order
///   -(e/r) (sin(theta - phi) + tan(offset) cos(theta - phi)).
double offset_turn_rad(const works::Arm& arm, GroovePlace place, GrooveOffset offset);

}  // namespace goodside::listen
