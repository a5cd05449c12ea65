#pragma once
#include <string_view>

#include "base/result.hpp"
#include "works/fault_plan.hpp"

namespace goodside::cli {

/// One fault as it is typed: KIND@PLACE[,KEY=VALUE]…, where the place is a programme time
/// ("tick@1:23.4,peak=-12") or radius and angle ("scratch@120mm/88,turns=8"). Keys: peak (dB),
/// duration (a time), turns, count, span (degrees), channel (left, right, both).
/// Errors: Fault::bad_input, saying which part is not understood.
Result<works::FaultPlan> fault_plan(std::string_view text);

}  // namespace goodside::cli
