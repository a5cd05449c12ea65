#pragma once
#include <span>
#include <vector>

#include "trace/attribute.hpp"

namespace goodside::trace {

/// One recurring fault of a side, or a scratch or spot of several groove places gathered as one.
struct Recurring {
  Candidate place;                ///< of the strongest; its events are of all
  std::vector<Candidate> places;  ///< in order of time
  Attribution why;
};

struct SideTrace {
  FamilyIndex index;
  Coincidences found;
  std::vector<Recurring> recurring;  ///< in order of time
  Beliefs beliefs;                   ///< as learned
  double false_share{};              ///< expected share of chance among them
};

/// Candidates are weighed by the family; beliefs are moved to what is found (empirical Bayes: three
/// turns of EM with the starting beliefs as counts), and places are taken in order of their
/// probability of chance for as long as the mean of those taken stays under
/// `false_discovery_rate` [Newton2004] and
/// none is likelier chance than one in three. Of places that share faults the likeliest stands.
/// Places that belong to one radial line, arc or patch are then gathered and weighed again as one.
/// `jobs` threads; the answer does not depend on them.
[[nodiscard]] SideTrace trace_side(const works::Family& family,
                                   std::span<const works::HeardPlay> plays,
                                   works::DiscSide side,
                                   double false_discovery_rate,
                                   int jobs);

}  // namespace goodside::trace
