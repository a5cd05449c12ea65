#pragma once
#include <cstdint>
#include <vector>

#include "plan/schedule_graph.hpp"

namespace goodside::plan {

/// When each work could end at the earliest if its order were alone in the works: releases, waits, hours and what is
/// fixed count, other orders and queues do not. Never later than in any plan.
[[nodiscard]] std::vector<std::int64_t> earliest_ends(const ShopIndex& index);

/// Below which no plan can come.
struct PlanBound {
  double late{};         ///< weighted lateness [s]
  std::int64_t end_s{};  ///< the last work's end
  int binding_unit{-1};  ///< a unit of the group that sets end_s; -1: a single order does
  int late_unit{-1};     ///< a unit of the group that says most of the lateness; -1: none does
};

struct BoundOptions {
  std::int64_t slot_s{
      0};                ///< grid of the prices; 0: one that divides the hour, at most 2500 of them
  int rounds{0};         ///< of bettering the prices; 0: the orders alone, no prices
  double target_late{};  ///< a plan's lateness, by which the steps are sized
  std::int64_t target_end_s{};  ///< its end
};

/// Bounds from the load and from prices. The end: over every group of units that works share, the least head, all the
/// group's work over its open time, and the least tail; on a single unit Jackson's preemptive schedule
/// [Carlier 1982]. Lateness: each order alone; and with `rounds`, first each group
/// alone in five times as many: its works with heads and with the hours that their orders take behind them, in the time-indexed
/// problem of Sousa and Wolsey [1992] relaxed by prices; then Lagrangian relaxation of all units' capacity from there
/// [Hoitomt, Luh and Pattipati, IEEE Trans. Robotics and Automation 9, 1993]: time on a group has a price a slot, each
/// order alone then finds its cheapest course by dynamic programming, and the prices follow the overload by subgradients.
/// On the grid all times are rounded down, which no plan can beat. Each step is valid by itself, so the best is kept.
[[nodiscard]] PlanBound plan_bound(const ShopIndex& index, const BoundOptions& options);

}  // namespace goodside::plan
