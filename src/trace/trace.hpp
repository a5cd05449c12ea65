#pragma once
#include <vector>

#include "works/family.hpp"
#include "works/heard_play.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

struct TraceOptions {
  double false_discovery_rate{0.10};  ///< expected share of recurring faults that are chance
  int jobs{0};                        ///< threads; 0: one a core. The answer does not depend on it
};

/// A family and what was heard of it -> every recurring fault with its cause, what it touched, what
/// to look at next and what to do. The chain: check_family -> family_index -> coincide ->
/// attribute -> gather -> suspects, next_act, action. Method: docs/trace.md. Inputs that contradict
/// themselves are put aside and named, the rest is traced. Cost: near-linear in faults, discs and
/// parts.
[[nodiscard]] works::TraceReport trace(works::Family family,
                                       std::vector<works::HeardPlay> plays,
                                       std::vector<works::RefusedInput> refused = {},
                                       const TraceOptions& options = {});

}  // namespace goodside::trace
