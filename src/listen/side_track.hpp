#pragma once
#include <functional>
#include <vector>

#include "base/result.hpp"
#include "listen/place.hpp"
#include "listen/time_track.hpp"
#include "listen/track_curve.hpp"
#include "signal/sample_source.hpp"

namespace goodside::listen {

/// One stretch with everything later stages ask of it.
struct FollowedStretch {
  double capture_from_s{}, capture_to_s{};  ///< where it counts, seams refined
  double sure_from_s{}, sure_to_s{};        ///< between these the programme was heard in it
  Stretch track;                            ///< for the kinematics
  std::vector<float> calm;                  ///< by track point
  TrackCurve curve;
  double start_sigma_s{}, end_sigma_s{};  ///< of the ends, where the track had to be carried on
};

struct SideTrack {
  std::vector<FollowedStretch>
      stretches;  ///< in order of capture time; empty: the title was not there
  bool swapped{};
  int polarity{1};
  double gain{1.0};  ///< capture over reference, amplitude, 300 Hz to 3 kHz
  double typical_sigma_s{};
};

struct TrackSetting {
  bool mono{};            ///< the reference carries one signal
  double revolution_s{};  ///< of the cut
  int jobs{};
};

/// Follows the programme through the whole capture in pieces of sixteen seconds, ties them together and finds
/// the seams between stretches. Stretches whose waveform does not follow the programme are dropped.
/// Errors: the sources'; Fault::conflict when `go_on` says no.
Result<SideTrack> follow_side(const signal::SampleSource& capture,
                              const signal::SampleSource& reference,
                              const Placement& placement,
                              const TrackSetting& setting,
                              const std::function<bool(double)>& go_on);

}  // namespace goodside::listen
