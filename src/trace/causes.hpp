#pragma once
#include "trace/recurring.hpp"
#include "trace/touched.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

[[nodiscard]] works::CauseLevel cause_level(Level level);

/// Fills cause, alternatives and `open`: each cause with its onset, end, and which others touched
/// the same discs.
void tell_causes(const FamilyIndex& index,
                 const Attribution& why,
                 const Touched& touched,
                 works::RecurringFault& fault);

}  // namespace goodside::trace
