#pragma once
#include <vector>

#include "works/family.hpp"
#include "works/heard_play.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

/// What can be traced, and what was put aside.
struct Usable {
  works::Family family;
  std::vector<works::HeardPlay> plays;
  std::vector<works::RefusedInput> refused;  ///< one line each: what, why and the mend
};

/// Puts aside, singly, what contradicts itself, so that the rest can still be traced: an id given
/// twice, a parent that is no part or of the wrong kind, parts that descend from themselves (the
/// link that closes the circle is cut), a disc whose stamper is no stamper, steps, reports and
/// remarks about nothing that is known, a second report of one play, faults outside the cut, a
/// report that holds nothing. A disc whose stamper nobody knows is named too, but stays: it is
/// weighed over every stamper that it may have come from. Deterministic, linear but for sorting.
[[nodiscard]] Usable usable(works::Family family,
                            std::vector<works::HeardPlay> plays,
                            std::vector<works::RefusedInput> refused = {});

}  // namespace goodside::trace
