#pragma once
#include <span>
#include <vector>

#include "trace/family_index.hpp"
#include "trace/fault_rate.hpp"
#include "trace/jitter.hpp"
#include "trace/marks.hpp"
#include "works/heard_play.hpp"

namespace goodside::trace {

/// Faults of several discs at one groove place: perhaps one fault, perhaps strangers.
struct Candidate {
  double programme_s{}, sigma_s{};  ///< of the place
  double chance{};                  ///< Poisson: of so many discs there at the local rate
  std::vector<int> events;          ///< nearest of each play, in order of time
};

struct Coincidences {
  std::vector<Event> events;    ///< all faults of the side, in order of time
  std::vector<double> sigma_s;  ///< of each play
  std::vector<Candidate> candidates;
  FaultRate rate;
  Marks marks;
  Jitter jitter;
};

/// Gathers the faults of all heard discs of a side by programme time.
///
/// A window of +-2.5 sigma is passed over the faults of the whole side, of each mother's discs and
/// of each stamper's discs; the number of discs in it is held against the number expected at the
/// local rate, P(X >= n - 1 | X ~ Poisson(mu)), where mu counts the other discs of the group. Places
/// where that is under `screen` are candidates; the family decides which of them are real
/// (attribute.hpp). Rates and each report's jitter are learned in a first pass without what is
/// plainly no chance. Cost: n log n; 100 000 faults take well under a second.
/// Finds up to 9 sigma off a candidate's place, of plays that have none nearer: times stray further
/// now and then than most do, and a find that is left out counts as a miss. A find belongs to the
/// nearest candidate, and to none that has it already.
void take_strays(Coincidences& found);

[[nodiscard]] Coincidences coincide(const FamilyIndex& index,
                                    std::span<const works::HeardPlay> plays);

}  // namespace goodside::trace
