#pragma once
#include <functional>

#include "disc/filter.hpp"
#include "listen/match.hpp"

namespace goodside::listen {

/// The recording curve of IEC 60098 and its inverse.
disc::Emphasis recording_curve(double rate_Hz);

/// How a ball-ended stylus reads a groove that a sharp cutter cut: where a wall slopes, the ball touches it
/// ahead of or behind its own centre, so that the wall's velocity is heard early or late:
///     v'(t) = v(t -+ kappa v'(t) / sqrt(1 + s^2)),   kappa = R F / V^2,  s = v' F / V,
/// - on the left wall, + on the right; v the wall's velocity in units of full scale's, F that in m/s, R the
/// ball's radius, V the groove's speed. To second order v' = v -+ (kappa / 2) d/dt v^2: F. V. Hunt and
/// J. A. Pierce, "On distortion in sound reproduction from phonograph records", J. Acoust. Soc. Am. 10 (1938),
/// from memory; a circle rolled along a slope gives both.
struct Stylus {
  double
      strength_m2{};  ///< R F; 0: the groove is heard as it was cut; negative where the cut's sense is turned
  double rpm{};
  std::function<double(double)> radius_m;  ///< of the groove at a programme time [s]

  [[nodiscard]] double speed_m_per_s(double programme_s) const;
};

struct Tracing {
  double strength_m2, speed_m_per_s, rate_Hz;
};

/// The stylus' reading of a stereo cut in place, the groove's speed taken as constant. The wall's velocity is the
/// cut after the recording curve of IEC 60098; what comes out is equalised again. Only F / V, which bounds the lead on
/// steep walls, needs R by itself: 15 um, common practice. `bend` tells how much the last step changed: where the
/// groove bends more sharply than the ball, no step settles what is heard, and it is great.
/// Accuracy: three steps of the fixed point, read by Lagrange's six-point formula: -60 dB of the cut's part at a tenth
/// of the rate. Cost: about 30 ns a frame.
void trace_cut(StereoSamples& cut,
               const Tracing& tracing,
               BendEnergy& bend,
               StereoSamples& storage);

/// What laid pieces say of the stylus' strength, by one step of Gauss and Newton from where it stands: the residual's
/// share along what a little more strength would change. Each hundredth of a second weighs by how little is left of it,
/// so that faults do not speak, and by how little of it a strength `doubt_m2` off would be, so that grooves sharper than
/// the ball, where the change is wild, do not either.
class StrengthFit {
 public:
  explicit StrengthFit(double doubt_m2 = 1e-6) : doubt_m2_{doubt_m2} {}

  /// `change`: what the prediction changes by for each m^2 of strength; above 1 kHz, roughly.
  void add(const StereoSamples& residual, const StereoSamples& change, double rate_Hz);
  void merge(const StrengthFit& other);

  [[nodiscard]] double step_m2() const { return self_ > 0.0 ? cross_ / self_ : 0.0; }
  /// Share of the residual's energy that the step takes away.
  [[nodiscard]] double share() const {
    return self_ > 0.0 && energy_ > 0.0 ? cross_ * cross_ / (self_ * energy_) : 0.0;
  }

 private:
  double doubt_m2_;
  double cross_{}, self_{}, energy_{};
};

}  // namespace goodside::listen
