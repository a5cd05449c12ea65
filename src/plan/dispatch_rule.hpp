#pragma once
#include <vector>

#include "base/result.hpp"
#include "plan/schedule_graph.hpp"

namespace goodside::plan {

struct DispatchOptions {
  double look_ahead{
      3.0};  ///< k1: the longer, the more weight over time counts and the less the due date
  double rest_share{1.0};  ///< of what remains of the order, that the look ahead is longer by
  bool by_due{};  ///< instead the earliest date by which the work must end, whatever its weight
  std::vector<std::int64_t>
      shift_s{};  ///< an order: its due date is taken as so much later; empty: as it is
};

/// A first plan by a dispatching rule: of the works that could begin, take the one of the highest apparent cost of
/// lateness with changing over [Lee, Bhaskaran and Pinedo, IIE Transactions 29, 1997],
///   w/p exp(-max(0, d - r - p - t)/(k1 pbar + r)) exp(-s/(k2 pbar))
/// with w the order's weight, p the work, r what remains of the order after it, d its due date, t the time it could begin, s
/// its change-over; on the unit where it ends first. Orders without a due date count by what remains of them alone.
/// Works that are fixed stand first. O(n (n + units)).
/// Errors: Fault::out_of_range naming a work that can never be placed (its unit's calendar is never open long
/// enough).
Result<ShopSchedule> dispatch_rule(const ShopIndex& index, const DispatchOptions& options = {});

}  // namespace goodside::plan
