#include "plan/schedule_search.hpp"

#include <algorithm>
#include <atomic>
#include <thread>

#include "base/in_parallel.hpp"
#include "plan/dispatch_rule.hpp"
#include "plan/neighbourhood.hpp"
#include "plan/time_indexed.hpp"
#include "stats/draw.hpp"

namespace goodside::plan {
namespace {

constexpr std::size_t window_works = 9;
constexpr std::uint64_t window_stream = 1;

/// A work of a late order (or of any, where none is late) that waited for its unit.
int worth_a_window(const ShopIndex& index, const ShopSchedule& plan, stats::Draw& draw) {
  std::vector<int> works;
  const auto& model = index.model();
  const bool late = plan.cost.late > 0.0;
  for (std::size_t i = 0; i < index.count(); ++i) {
    const auto order = static_cast<std::size_t>(model.operations[i].order);
    if (model.operations[i].needs.empty() || model.operations[i].fixed) continue;
    if (!late || plan.order_end_s[order] > model.orders[order].due_s)
      works.push_back(static_cast<int>(i));
  }
  return works.empty() ? no_matter : works[draw.whole(works.size())];
}

ShopSchedule better(const ShopIndex& index,
                    ShopSchedule plan,
                    const SearchOptions& options,
                    std::uint64_t seed,
                    double heat) {
  plan = anneal(index, plan, {.moves = options.moves, .seed = seed, .heat = heat});
  stats::Draw draw{seed, window_stream};
  for (int k = 0; k < options.windows; ++k) {
    const int focus = worth_a_window(index, plan, draw);
    if (focus == no_matter) break;
    if (auto found = resequence(index, plan, focus, window_works, {.nodes = 60, .pivots = 3000}))
      plan = std::move(*found);
  }
  return plan;
}

}  // namespace

Result<SearchResult> search_plan(const ShopIndex& index, const SearchOptions& options) {
  auto rule = best_rule(index, options.jobs);
  if (!rule) return rule.error();
  SearchResult result{
      .plan = rule->plan, .rule = rule->plan, .priorities = rule->rule, .rounds = 0};
  if (options.known && options.known->cost < result.plan.cost) result.plan = *options.known;
  const auto streams = static_cast<std::size_t>(std::max(1, options.streams));
  std::vector<ShopSchedule> plans(streams, result.plan);
  std::vector<RuledPlan> ruled(streams, *rule);
  for (; result.rounds < options.rounds && index.count() > 0; ++result.rounds) {
    in_parallel(streams, options.jobs, [&](std::size_t k) {
      const auto round = static_cast<std::uint64_t>(result.rounds);
      const std::uint64_t seed = options.seed * 1000003U + round * 1009U + k;
      // From hot to cool over the streams: some explore, some polish.
      const double heat = 0.7 * std::pow(0.25, static_cast<double>((k + round) % 4));
      ruled[k] = better_rule(index, std::move(ruled[k]), options.trials, seed);
      if (ruled[k].plan.cost < plans[k].cost) plans[k] = ruled[k].plan;
      plans[k] = better(index, std::move(plans[k]), options, seed, heat);
    });
    for (const ShopSchedule& plan : plans)
      if (plan.cost < result.plan.cost) result.plan = plan;
    const auto best = std::min_element(
        ruled.begin(), ruled.end(), [](const RuledPlan& one, const RuledPlan& other) {
          return one.plan.cost < other.plan.cost;
        });
    result.priorities = best->rule;
    const RuledPlan leader = *best;
    // Half of the streams go on from the best.
    for (std::size_t k = 0; k < streams; ++k)
      if ((k + static_cast<std::size_t>(result.rounds)) % 2 == 0) {
        plans[k] = result.plan;
        ruled[k] = leader;
      }
    if (options.go_on && !options.go_on(result.rounds + 1, result.plan.cost)) {
      ++result.rounds;
      break;
    }
  }
  return result;
}

}  // namespace goodside::plan
