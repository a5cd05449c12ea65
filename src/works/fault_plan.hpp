#pragma once
#include <optional>

#include "works/listening_report.hpp"

namespace goodside::works {

enum class PlannedKind {
  tick,
  pop,
  burst,
  dropout,
  jump,
  repeat,
  locked,
  clip,
  scratch,
  arc,
  dirt
};

/// One fault to be put on a simulated disc. Its place is a programme time, or, where both are
/// given, the groove place nearest to a radius and an angle. Zeros and absent values stand for the
/// usual of the kind.
struct FaultPlan {
  PlannedKind kind{};
  double programme_s{};
  std::optional<double> radius_m{}, angle_deg{};
  /// jump, repeat: turns skipped or heard again; locked: times round; scratch, arc: turns crossed;
  /// dirt: turns it lies on.
  int turns{};
  int count{};  ///< dirt: number of specks
  double duration_s{};
  /// Re full scale of the programme; dropout: gain inside; clip: the level held.
  std::optional<double> peak_dB{};
  /// arc, dirt: width; scratch: drift of its angle from first to last turn.
  double span_deg{};
  FaultChannel channel{FaultChannel::both};
};

}  // namespace goodside::works
