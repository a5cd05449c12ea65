#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "listen/time_track.hpp"
#include "signal/sample_source.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

/// What a capture's steady tone tells, where it holds one.
struct ToneFound {
  std::optional<works::Tone> tone;  ///< empty: there is no steady tone, and `why` says so
  std::string why;
  /// Tone time, cycles / nominal frequency, against capture time, 0 at the tone's first sample; a
  /// point every 0.02 s or so. It serves `kinematics` as a programme's track does, the radius being
  /// that of the tone's groove.
  TimeTrack track;
  works::WowCurve curve;  ///< deviation of speed over capture time, as of a programme's track
  std::vector<works::Undetermined> undetermined;  ///< "tone.…"
  std::vector<std::string> remarks;
};

struct ToneSetting {
  std::optional<double> nominal_Hz;  ///< as the test record's sleeve says; else 3150 or 3000,
                                     ///< whichever lies nearer: a remark names the choice
};

/// Looks for the test record's tone and, where there is one, measures it.
///     speed error   f_mean/f_nominal - 1; sigma from the scatter of one-second means
///     drift         slope of those means over time
///     x(t)          (f - f_mean)/f_mean, less a straight line; frequency f = d(phase)/dt of the
///                   analytic tone, flat to 200 Hz of modulation, gone at 315 Hz
///     two-sigma     |x| exceeded 5 % of the time; peak: the greatest |x|; both weighted
///                   (wow.hpp) and unweighted
/// A tone is the longest stretch of at least 5 s in which the band of 2.6 .. 3.6 kHz of one channel,
/// their sum or their difference holds half the power between 0.3 and 8 kHz, at an amplitude
/// steadier than noise or music has; at most five minutes of it are used. Ticks are left out. What
/// the surface noise itself puts into the weighted figure is read off the amplitude (noise turns
/// and stretches a vector alike) and given as `noise_2sigma`; it is not taken off.
/// Source:   AES6-2008, IEC 60386; the finding of the tone: own method.
/// Valid:    tone within 8 % of its nominal frequency, deviation to +-10 %.
/// Accuracy: docs/listening_measures.md, as measured by the tests.
/// Errors:   those of the source. Memory: 80 MB at five minutes of tone and more.
Result<ToneFound> track_tone(const signal::SampleSource& capture, const ToneSetting& setting);

}  // namespace goodside::listen
