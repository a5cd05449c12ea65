#pragma once
#include <array>

namespace goodside::disc {

/// Tracing distortion: a sphere of radius R on a 45-degree wall follows the parallel curve of the
/// groove, so that
///   v' = v +- (R/2) d/dt (v / V)^2
/// to second order in the slope v / V (v velocity of the wall, V groove speed; + on the left wall,
/// - on the right, whose sense in the signal is the other way round). A tone v = A sin(wt) gains
/// the second harmonic
///   (R / 2V^2) A^2 w sin(2wt),  relative to the tone  R A w / (2 V^2).
/// Source: F. V. Hunt and J. A. Pierce, "On distortion in sound reproduction from phonograph
/// records", J. Acoust. Soc. Am. 10 (1938), from memory; a circle rolled on a slope gives it in one
/// line. Valid: slope well under 1. The derivative is the eight-point central difference: 2 % short
/// at a fifth of the rate.
class Tracing {
 public:
  static constexpr int delay_frames = 4;  ///< the signal comes out this late

  explicit Tracing(double rate_Hz) : rate_Hz_{rate_Hz} {}

  /// `velocity` in units of full scale, `strength_s` = +-(R/2) full-scale velocity / V^2.
  double next(double velocity, double strength_s);

 private:
  double rate_Hz_;
  std::array<double, 2 * delay_frames + 1> past_{};  ///< [0] the newest
};

}  // namespace goodside::disc
