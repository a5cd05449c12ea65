#include "plan/rule_search.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/in_parallel.hpp"
#include "stats/draw.hpp"

namespace goodside::plan {
namespace {

constexpr std::uint64_t rule_stream = 2;
constexpr double worse_share = 0.01, shortest_look = 0.3, longest_look = 100.0;
constexpr double mean_shift_s = 30.0 * 3600.0, chance_of_look = 0.25, chance_of_late = 0.6;
constexpr std::size_t orders_at_once = 16;  ///< one in so many is shifted in a trial, at most

bool has_due(const ShopIndex& index) {
  const auto& orders = index.model().orders;
  return std::any_of(
      orders.begin(), orders.end(), [](const ShopOrder& one) { return one.due_s < never_s; });
}

/// An order by its share of the lateness.
std::size_t late_order(const ShopIndex& index, const ShopSchedule& plan, stats::Draw& draw) {
  const auto& orders = index.model().orders;
  double at_share = draw.uniform() * plan.cost.late;
  std::size_t order = 0;
  for (; order + 1 < orders.size(); ++order) {
    at_share -= orders[order].weight * static_cast<double>(std::max<std::int64_t>(
                                           0, plan.order_end_s[order] - orders[order].due_s));
    if (at_share <= 0.0) break;
  }
  return order;
}

void shift(const ShopIndex& index,
           const ShopSchedule& plan,
           stats::Draw& draw,
           DispatchOptions& rule) {
  const std::size_t count = index.model().orders.size();
  rule.shift_s.resize(count, 0);
  if (!rule.by_due && draw.uniform() < chance_of_look) {
    rule.look_ahead =
        std::clamp(rule.look_ahead * std::exp(0.5 * draw.normal()), shortest_look, longest_look);
    rule.rest_share = std::clamp(rule.rest_share + 0.2 * draw.normal(), 0.0, 2.0);
    return;
  }
  for (std::uint64_t n = 1 + draw.whole(2 + count / orders_at_once); n > 0; --n) {
    const auto by_s = static_cast<std::int64_t>(-std::log(draw.uniform()) * mean_shift_s);
    if (plan.cost.late > 0.0 && draw.uniform() < chance_of_late)
      rule.shift_s[late_order(index, plan, draw)] -= by_s;
    else
      rule.shift_s[draw.whole(count)] += draw.uniform() < 0.7 ? by_s : -by_s;
  }
}

}  // namespace

Result<RuledPlan> best_rule(const ShopIndex& index, int jobs) {
  std::vector<DispatchOptions> rules{{}};
  if (has_due(index)) {
    rules.push_back({.by_due = true});
    for (const double look : {10.0, 20.0, 30.0})
      for (const double rest : {0.0, 0.3, 1.0})
        rules.push_back({.look_ahead = look, .rest_share = rest});
  }
  std::vector<std::optional<Result<ShopSchedule>>> plans(rules.size());
  in_parallel(
      rules.size(), jobs, [&](std::size_t k) { plans[k].emplace(dispatch_rule(index, rules[k])); });
  std::size_t best = 0;
  for (std::size_t k = 0; k < rules.size(); ++k) {
    if (!*plans[k]) return plans[k]->error();
    if ((*plans[k])->cost < (*plans[best])->cost) best = k;
  }
  return RuledPlan{std::move(rules[best]), std::move(**plans[best])};
}

RuledPlan better_rule(const ShopIndex& index, RuledPlan from, int trials, std::uint64_t seed) {
  if (!has_due(index) || index.count() == 0) return from;
  stats::Draw draw{seed, rule_stream};
  RuledPlan best = from, now = std::move(from);
  for (int k = 0; k < trials; ++k) {
    RuledPlan next{now.rule, {}};
    shift(index, now.plan, draw, next.rule);
    auto plan = dispatch_rule(index, next.rule);
    if (!plan) continue;
    next.plan = std::move(*plan);
    if (next.plan.cost < best.plan.cost) best = next;
    if (next.plan.cost <= now.plan.cost ||
        next.plan.cost.late < best.plan.cost.late * (1.0 + worse_share))
      now = std::move(next);
  }
  return best;
}

}  // namespace goodside::plan
