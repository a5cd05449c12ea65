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

/// One fault to be put on a simulated disc. Its place is a programme time, or a radius with an
/// angle. Zeros and absent values stand for the usual of the kind.
struct FaultPlan {
  PlannedKind kind{};
  double programme_s{};
  std::optional<double> radius_m,
      angle_deg;  ///< both given: the groove place nearest to them counts instead
  int turns{};  ///< jump, repeat: turns skipped or heard again; locked: times round; scratch, arc:
                ///< turns crossed
  int count{};  ///< dirt: number of specks
  double duration_s{};
  std::optional<double>
      peak_dB;  ///< re full scale of the programme; dropout: gain inside; clip: the level held
  double span_deg{};  ///< arc: its width; scratch: drift of its angle from first to last turn;
                      ///< dirt: its width
  FaultChannel channel{FaultChannel::both};
};

}  // namespace goodside::works
