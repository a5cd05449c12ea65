#pragma once
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/shop_plan.hpp"

namespace goodside::json {

/// A plan of the works as text, `"schema": "goodside.plan/1"`. Times are seconds from `now_s`, which counts from
/// 1970-01-01 00:00 on the works' own clock:
///   name, now_s, rounds, units [id]
///   plan, rule {late, change_s, end_s, late_orders}; bound {late, end_s, proof: "load"|"prices"|"integer"|"optimal"}
///   orders [{id, title, quantity, weight, due_s, end_s, late_s, earliest_s}]
///   works [{id, order, step, title, station, unit|null, helpers [id], start_s, end_s, change_s, fixed}]
///   loads [{station, units, work_s, change_s, open_s, waited_s, one_more {as plan}|null}]
///   moved [text], found [text]: what had to move; what the record told of each order
/// Equal contents give equal bytes.
std::string write(const works::ShopPlan&);

/// Reads what re-planning needs of goodside.plan/1: name, now_s, works. Errors: Fault::bad_input with the JSON path of
/// the first wrong field.
Result<works::ShopPlan> read_shop_plan(std::string_view text);

/// `"schema": "goodside.promise/1"`:
///   name, now_s, replays, seed, all_on_time {value, low, high}, causes [{cause, share}]
///   orders [{id, title, due_s, planned_s, half_s, ninety_s, ninety_five_s, on_time {value, low, high},
///            causes [{cause, share}], curve_s: ends at 0, 1, … 100 % of the replays}]
///   found [text], lives: what the record told; where the law of stampers' lives comes from
std::string write(const works::PlanPromise&);

}  // namespace goodside::json
