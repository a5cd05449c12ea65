#pragma once
#include <string>

#include "works/shop_plan.hpp"

namespace goodside::cli {

/// The plan on a terminal: verdict, the latest orders, where works queue and what one unit more would give, how far
/// it can be from the best, what to do next.
std::string plan_summary(const works::ShopPlan& plan);
/// The promise: chance for all, the orders least sure, the causes.
std::string promise_summary(const works::PlanPromise& promise);

}  // namespace goodside::cli
