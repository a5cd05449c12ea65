#pragma once
#include "base/result.hpp"
#include "disc/groove.hpp"
#include "works/player.hpp"

namespace goodside::disc {

/// Where the stylus meets the groove of a disc whose hole is off centre: exact plane geometry, no
/// small-angle step.
///
/// Seen from above, origin at the spindle, disc turning clockwise by the platter angle A. The
/// groove point of angle theta lies at  R(-A) [ e u(phi) + r(theta) u(theta) ],  u(x) = (cos x, sin
/// x), e from the hole to the groove's centre in the direction phi; rho is its distance from the
/// spindle. The stylus of a pivoted arm (length L, pivot at distance D) stands at distance rho only
/// in the direction  psi - gamma(rho),
///   cos gamma = (D^2 + rho^2 - L^2) / (2 D rho),
/// that of a radial tracker always in the direction psi. So the platter angle at which a groove
/// place passes is
///   A(theta) = arg(e u(phi) + r u(theta)) - psi + gamma(rho),   psi such that A(0) = 0,
/// and programme time runs with theta: theta = 2 pi programme_s rpm / 60.
/// To first order, for a radial tracker: d programme / d capture = 1 + (e/r) cos(theta - phi).
///
/// A warp lifts the stylus by z; a pivot higher than the disc by H draws it along the groove by
/// (H/L) z, which moves the place that it reads; L = 0.23 m where the arm is not known.
///
/// Outside the programme the groove goes on: lead-in of 1.2 mm pitch up to 1 mm from the edge,
/// lead-out of 6.4 mm down to the finishing groove (pitches: IEC 60098:1987).
class Tracking {
 public:
  /// Errors: Fault::out_of_range when the arm cannot reach the outermost or innermost groove, or
  /// the offset is absurd (negative or over 5 mm).
  static Result<Tracking> of(const works::PlayedSide& played,
                             const Groove& groove,
                             double finishing_radius_m);

  /// Platter angle [rad] at which the stylus reads `programme_s`.
  [[nodiscard]] double platter_rad(double programme_s) const;
  /// The inverse, to rounding (Newton's method on the closed form above).
  [[nodiscard]] double programme_s(double platter_rad) const;
  /// Groove radius, lead-in and lead-out included.
  [[nodiscard]] double radius_m(double programme_s) const;
  /// Height of the disc under the stylus, of the warp alone.
  [[nodiscard]] double lift_m(double programme_s) const;

 private:
  struct Contact {
    double platter_rad, slope;  ///< A(theta) and dA/dtheta
  };
  Tracking(const works::PlayedSide& played, const Groove& groove, double finishing_radius_m);
  [[nodiscard]] Contact contact(double theta) const;
  [[nodiscard]] double inward_m_per_rad(double programme_s) const;
  [[nodiscard]] double drawn_s(double programme_s) const;

  Groove groove_;
  works::Arm arm_;
  works::Warp warp_;
  double eccentricity_m_, direction_rad_;
  double edge_radius_m_, lead_in_radius_m_, finishing_radius_m_;
  double stylus_direction_rad_{};  ///< psi
};

}  // namespace goodside::disc
