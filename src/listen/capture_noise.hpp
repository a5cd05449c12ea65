#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "listen/revolution.hpp"
#include "signal/sample_source.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct CaptureNoiseSetting {
  double rpm{};                              ///< > 0, nominal
  std::vector<works::Interval_s> disturbed;  ///< faults, in capture time and in order: left out
  int jobs{};                                ///< 0: all cores
};

/// Once-a-turn swing of the surface noise, from the first harmonic of its power over angle:
///     P(theta) = P0 (1 + 2 m cos(theta - theta_0)),   swing 10 log10((1 + 2 m)/(1 - 2 m))
struct NoiseSwing {
  double swing_dB{};
  double loudest_deg{};  ///< counted from the capture's first sample
  double sigmas{};       ///< m over its standard error under equal noise all round
};

struct CaptureNoiseFound {
  works::Noise
      noise;  ///< weighted, rumble, hum and their references; map where quiet groove allows
  std::optional<NoiseSwing> swing;
  works::Interval_s quietest;                     ///< the second by which quiet is measured
  double quiet_s{};                               ///< of the capture, as quiet as that
  TurnHeard turn;                                 ///< but for its ticks
  std::vector<works::Undetermined> undetermined;  ///< "noise.…"
};

/// Noise of a capture without its cut. Nothing tells programme from noise, so noise is read where the capture is
/// quietest: stretches of a second and more whose A-weighted level is within 3 dB of the quietest second that
/// is no digital silence. Lead-in, pauses, lead-out and blank groove show the surface; a side without them gives an
/// upper bound, and the reference text says so.
///     weighted  A-weighted (IEC 61672-1), third octaves to 0.45 of the rate, mean square of the quiet stretches
///     rumble    as low_noise.hpp, band by band in the windows of 2 s where the band is weakest
///     hum       as low_noise.hpp, lines in the mean logarithmic spectrum of the whole capture
///     map       rows of >= 4 turns by 15 degrees, from the quiet stretches alone; null under one row of places
///     swing     over >= 4 quiet turns
/// Units:    dB; 0 dB is a full-scale sine of the capture, mean of both channels' powers.
/// Source:   own method. Accuracy: docs/listening_alone.md. Memory: 0.15 MB a minute of capture.
/// Errors:   of the source; Fault::conflict when `go_on` says false.
Result<CaptureNoiseFound> measure_noise(const signal::SampleSource& capture,
                                        const CaptureNoiseSetting& setting,
                                        const std::function<bool(double)>& go_on);

}  // namespace goodside::listen
