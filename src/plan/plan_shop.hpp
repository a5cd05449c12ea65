#pragma once
#include "base/result.hpp"
#include "plan/schedule_search.hpp"
#include "plan/shop_orders.hpp"
#include "works/shop_plan.hpp"

namespace goodside::plan {

struct PlanOptions {
  SearchOptions search{};
  Freeze freeze{};
  int price_rounds{60};          ///< of bettering the bound on lateness
  std::size_t proved_works{80};  ///< up to which the integer problem of the whole is tried
  int one_more_of{3};            ///< stations for which one unit more is tried
};

/// The plan with what it was made from, to be played by promise.hpp.
struct PlannedShop {
  ShopProblem problem;
  ShopSchedule schedule;
  works::ShopPlan plan;
};

/// Lays out, refuses what cannot be, searches, bounds, and says where works queue: for each station the time works
/// could have begun but for it, and for the longest queued for, the plan with one unit more, searched as long
/// as the plan itself is searched on meanwhile.
/// Errors: those of lay_out_orders, check_due_dates and search_plan.
Result<PlannedShop> plan_shop(const works::Shop& shop, const PlanOptions& options);

}  // namespace goodside::plan
