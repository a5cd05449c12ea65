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
struct GrooveReading {
  /// R F; 0: the groove is heard as it was cut; negative where the cut's sense is turned.
  double strength_m2{};
  /// 1/L^2 of a soft limiter x / sqrt(1 + x^2 / L^2) between the reference and the cutter, x and L in full scales: one
  /// of many shapes, that agree in the cube; 0: none.
  double limiting{};
  double rpm{};
  std::function<double(double)> radius_m;  ///< of the groove at a programme time [s]

  [[nodiscard]] double speed_m_per_s(double programme_s) const;
};

struct Tracing {
  double strength_m2, speed_m_per_s, rate_Hz;
};

/// Limits the cut, at the groove's rate, in place and adds to `bend` how much that changed. `storage` takes what it
/// changed by.
void limit_cut(StereoSamples& cut, double limiting, BendEnergy& bend, StereoSamples& storage);

/// The stylus' reading of a stereo cut in place, at the groove's rate (`rate_Hz`), its speed taken as constant. The wall's velocity is the
/// cut after the recording curve of IEC 60098; what comes out is equalised again. Only F / V, which bounds the lead on
/// steep walls, needs R by itself: 15 um, common practice. To `bend` is added how much the last step changed: where the
/// groove bends more sharply than the ball, no step settles what is heard, and it is great.
/// Accuracy: three steps of the fixed point, read by Lagrange's formula of seven points, or of six
/// where it is heard early or late by more than a sample: -60 dB of the cut's part at a tenth
/// of the rate. Cost: about 15 ns a frame, twice that with six points.
void trace_cut(StereoSamples& cut,
               const Tracing& tracing,
               BendEnergy& bend,
               StereoSamples& storage);

/// How much is left of a piece: the sum over hundredths of a second of the logarithm of the residual's energy from
/// 1 to 20 kHz, roughly, so that a fault counts no more than any other moment, and how many they are.
struct Leftover {
  double log_energy{};
  double cells{};

  void add(const StereoSamples& residual, double rate_Hz);
  void merge(const Leftover& other);
  [[nodiscard]] double mean() const { return cells > 0.0 ? log_energy / cells : 0.0; }
};

}  // namespace goodside::listen
