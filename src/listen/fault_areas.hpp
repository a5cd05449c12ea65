#pragma once
#include <cstddef>
#include <vector>

#include "listen/groove_index.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct AreaSearch {
  double reach_deg{12.0};  ///< greatest distance along the groove between neighbours of one area
  int reach_turns{2};      ///< and across it
  int least_events{4};
  double false_areas{0.05};  ///< expected false areas a side
  bool proven{};  ///< something else shows that the events belong together: three on three turns do
};

/// Events that lie together on the disc: indices into the GrooveIndex, in order.
struct FaultArea {
  std::vector<std::size_t> events;
  works::PatternKind kind{works::PatternKind::scatter};
  double angle_deg{}, angle_span_deg{};
};

/// Places where events lie closer than chance puts them.
///
/// Neighbours within reach (drawn in where events are many) are joined. A group of k events, in a
/// box of turns by angle rounded up to a power of two and to 5, 15, 45, 135 or 360 degrees, where
/// the rate around it puts mu, is kept when   n * shapes * max(1, 2 mu) * P(Poisson(mu) >= k - 2)
/// <= false_areas:   the box is hung on two of its own events, the other k - 2 are the evidence. On
/// what is left, the Rayleigh test over 16, 64, 256 … turns, one mean angle a turn, finds a sector
/// that is merely busier than the rest.
///
/// arc: at least 3 turns, 3 in 4 of those spanned, 15 degrees or more, filled on a typical turn for
/// at least half its angle by one long event or by several; patch: events on 6 turns in 10, within
/// 30 degrees; scatter: the rest. Constants: common practice, no source. Areas come in order along
/// the groove and share no event. Cost: O(n log n).
[[nodiscard]] std::vector<FaultArea> fault_areas(const GrooveIndex& events,
                                                 const HeardTurns& heard,
                                                 const AreaSearch& search);

}  // namespace goodside::listen
