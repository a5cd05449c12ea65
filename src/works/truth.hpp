#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include "works/listening_report.hpp"
#include "works/player.hpp"

namespace goodside::works {

/// One event as it was really put into a simulated capture.
struct TrueFault {
  FaultKind kind{};
  double capture_s{}, programme_s{};
  std::int64_t revolution{};
  double angle_deg{}, radius_m{}, duration_s{}, peak_dB{};
  FaultChannel channel{FaultChannel::both};
  std::optional<int> plan;             ///< index of the FaultPlan it came from
  std::optional<PatternKind> pattern;  ///< the events of one plan form this pattern
  std::optional<double>
      programme_jump_s;  ///< jump and repeat: programme skipped (+) or played again (-)
};

/// A stretch of unbroken playing between two jumps.
struct TrueStretch {
  double capture_from_s{}, capture_to_s{}, programme_from_s{}, programme_to_s{};
};

/// What a simulated capture really holds. `capture_s` counts on the recorder's nominal clock.
struct Truth {
  std::int64_t frames{};
  double sample_rate_Hz{};
  double programme_start_s{},
      programme_end_s{};  ///< capture time of its first and last sample; an excerpt's lie outside
  double speed_error_ppm{};  ///< mean of d(programme)/d(capture) - 1 over the first unbroken
                             ///< stretch of programme
  double drive_error_ppm{};  ///< of the platter alone
  double eccentricity_m{}, eccentricity_direction_deg{};
  SideGeometry geometry;
  std::vector<TrueStretch> stretches;
  double track_hop_s{0.01};
  std::vector<double>
      track_programme_s;          ///< programme time under the stylus at capture time k track_hop_s
  std::vector<TrueFault> faults;  ///< in order of capture time
};

}  // namespace goodside::works
