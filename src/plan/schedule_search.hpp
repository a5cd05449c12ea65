#pragma once
#include <cstdint>
#include <functional>
#include <optional>

#include "base/result.hpp"
#include "plan/rule_search.hpp"
#include "plan/schedule_bound.hpp"
#include "plan/schedule_graph.hpp"

namespace goodside::plan {

struct SearchOptions {
  std::int64_t rounds{8};     ///< at most
  std::int64_t moves{20000};  ///< of annealing a round, each stream
  int windows{4};             ///< integer problems a round, each stream; 0: none
  int trials{12};             ///< of the rule a round, each stream (rule_search.hpp)
  int streams{4};             ///< searches side by side, whose number makes the answer
  int jobs{0};                ///< threads, which do not; 0: one a core
  std::uint64_t seed{1};
  std::optional<ShopSchedule>
      known{};  ///< another first plan, of the same works; the better one is begun with
  std::function<bool(std::int64_t round, const PlanCost& best)>
      go_on{};  ///< asked after each round; empty: yes
};

struct SearchResult {
  ShopSchedule plan;
  ShopSchedule rule;  ///< by the best of the dispatching rules, with which the search began
  DispatchOptions priorities;  ///< the best rule found, with its shifts
  std::int64_t rounds{};
};

/// A plan by the best of the dispatching rules, bettered in rounds: each stream tries shifted priorities, anneals the best
/// plan it has, then takes runs of works out of the
/// late part and sequences them by integer programming; after a round the streams that fell behind go on from the best.
/// Same options, same plan, for any number of threads; a plan ended by the clock is that of the rounds it had.
/// Errors: those of dispatch_rule.
Result<SearchResult> search_plan(const ShopIndex& index, const SearchOptions& options);

}  // namespace goodside::plan
