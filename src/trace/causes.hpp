#pragma once
#include "trace/recurring.hpp"
#include "trace/touched.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

[[nodiscard]] works::CauseLevel cause_level(Level level);

/// Brings that cause to the front whose claim, together with those that no hearing can tell from it, is
/// the likeliest: a stamper and its only mounting must not lose to a third because they share theirs.
void lead_with_likeliest(const FamilyIndex& index, Attribution& why);

/// Fills cause, alternatives and `open`: each cause with its onset, end, and which others touched
/// the same discs.
void tell_causes(const FamilyIndex& index,
                 const Attribution& why,
                 const Touched& touched,
                 works::RecurringFault& fault);

}  // namespace goodside::trace
