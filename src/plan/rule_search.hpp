#pragma once
#include <cstdint>

#include "plan/dispatch_rule.hpp"

namespace goodside::plan {

/// A plan with the rule that gives it.
struct RuledPlan {
  DispatchOptions rule;
  ShopSchedule plan;
};

/// The best of some dozen dispatching rules: several looks ahead, and the earliest due date. Where no order has a due
/// date, one rule. Errors: those of dispatch_rule.
Result<RuledPlan> best_rule(const ShopIndex& index, int jobs);

/// Betters a rule by shifting the due dates that it sees: orders that end late earlier, others later, the look ahead now and
/// then; each trial is a whole new plan by the rule, and trials a little worse than the best are gone on from
/// [record to record, Dueck 1993; shifted due dates as keys, Storer, Wu and Vaccari 1992]. A search over priorities,
/// for shops where machine, hand and set must be taken together, which moves of one chain at a time do not better.
/// Same seed, same plan. Does nothing where no order has a due date.
RuledPlan better_rule(const ShopIndex& index, RuledPlan from, int trials, std::uint64_t seed);

}  // namespace goodside::plan
