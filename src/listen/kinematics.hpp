#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "listen/eccentricity.hpp"
#include "listen/time_track.hpp"
#include "works/listening_report.hpp"
#include "works/side.hpp"

namespace goodside::listen {

/// What the time track tells of drive, hole and arm. Whatever is unsure is left empty and named.
struct KinematicsResult {
  works::Wow wow;
  std::optional<double> speed_error_ppm;  ///< mean of d(programme)/d(capture) - 1, as measured
  double speed_error_sigma_ppm{};
  std::optional<double> drive_error_ppm;      ///< hole, arm and sound-card clock taken out
  std::optional<double> direction_sigma_deg;  ///< of wow.eccentricity_direction_deg
  std::optional<double>
      drive_once_per_turn;  ///< the drive's own wow, peak, where told from the hole's
  TurnRate turn_rate;
  std::vector<works::Undetermined> undetermined;
  std::vector<std::string> remarks;
};

/// What the bench knows beside the track.
struct KinematicsBench {
  works::Arm arm;
  double clock_error_ppm{};  ///< of the sound card: true rate = nominal (1 + ppm 1e-6)
  bool clock_known{};
};

/// Reads speed, eccentricity as seated, out-of-round and wow off a track. Method, equations,
/// sources and validity: docs/listening_kinematics.md. `radius_at_programme_m` gives the groove's
/// radius at a programme time; a track of any origin may come in (a quiet groove, a hand-moved
/// record): what cannot be told from it is named in `undetermined` in plain words. Accuracy as
/// measured by the tests: that page. Cost O(n); memory about 300 bytes a point.
KinematicsResult kinematics(const TimeTrack& track,
                            const works::CutSide& side,
                            const std::function<double(double)>& radius_at_programme_m,
                            const KinematicsBench& bench);

}  // namespace goodside::listen
