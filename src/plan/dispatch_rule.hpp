#pragma once
#include "base/result.hpp"
#include "plan/schedule_graph.hpp"

namespace goodside::plan {

/// A first plan by a dispatching rule: of the works that could begin, take the one of the highest apparent cost of
/// lateness with changing over [Lee, Bhaskaran and Pinedo, IIE Transactions 29, 1997],
///   w/p exp(-max(0, d - r - p - t)/(k1 pbar)) exp(-s/(k2 sbar))
/// with w the order's weight, p the work, r what remains of the order after it, d its due date, t the time it could begin, s
/// its change-over; on the unit where it ends first. Orders without a due date count by what remains of them alone.
/// Works that are fixed stand first. O(n (n + units)).
/// Errors: Fault::out_of_range naming a work that can never be placed (its unit's calendar is never open long
/// enough).
Result<ShopSchedule> dispatch_rule(const ShopIndex& index);

}  // namespace goodside::plan
