#pragma once
#include <cstdint>

#include "plan/schedule_graph.hpp"

namespace goodside::plan {

struct AnnealOptions {
  std::int64_t moves{};  ///< tried in all: the budget, so that the answer does not hang on a clock
  std::uint64_t seed{1};
  double heat{
      1.0};  ///< times the median worsening of the first moves (less where moves are few): where cooling begins
};

/// Betters a plan by simulated annealing over the critical works [van Laarhoven, Aarts and Lenstra, Operations
/// Research 40, 1992]: a late order (or the last work) is traced back to what holds it up; a work of that path changes
/// places with the one before it on its unit [N1], goes to the head or foot of its block [Dell'Amico and
/// Trubian 1993], or to another unit that may do it; and works are put behind others of the same format, compound or
/// title. Never returns a worse plan. Same seed, same answer.
[[nodiscard]] ShopSchedule anneal(const ShopIndex& index,
                                  const ShopSchedule& from,
                                  const AnnealOptions& options);

/// One figure for what annealing weighs: lateness first, with a little of change-overs and of the end.
[[nodiscard]] double weighed(const ShopIndex& index, const PlanCost& cost);

}  // namespace goodside::plan
