#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "plan/shop_model.hpp"
#include "works/shop.hpp"
#include "works/shop_plan.hpp"

namespace goodside::plan {

enum class UnitKind { machine, hand, set };

/// Where a work of the model comes from.
struct WorkOrigin {
  std::size_t order{};  ///< into works::Shop::orders
  const works::ShopStep* step{};
  std::string side;  ///< empty: of both
  int lot{1};        ///< below 0: of the order's `begun`, -1 the first
  double discs{};    ///< that pass through it
};
struct UnitOrigin {
  UnitKind kind{UnitKind::machine};
  int station{no_matter};  ///< into works::Shop::stations
  int title{no_matter};    ///< of a set
};

/// The works' book of orders as one problem for the solver. Borrows the shop's steps.
struct ShopProblem {
  ShopModel model;
  std::vector<WorkOrigin> works;   ///< as model.operations
  std::vector<UnitOrigin> units;   ///< as model.units
  std::vector<std::string> moved;  ///< what was frozen and could not stay, and why
};

/// What an earlier plan fixes: works that begin before now + frozen_s stay where and when they are, unless their
/// unit is shut meanwhile.
struct Freeze {
  const works::ShopPlan* earlier{};
  std::int64_t frozen_s{};
};

inline constexpr std::int64_t plan_horizon_s = std::int64_t{400} * 86400;

/// Lays every order out into its works: a step that is done for each side or each lot becomes as many, lots of a
/// title press at once on as many presses as it has sets; works in hand fall away with all before them; a step with a
/// yield passes as many discs more as are lost from it on. Discs on their way take what is left of the route as lots of
/// their own, and only what is wanting is pressed. An order whose metal another grows waits for that one's works. Hours become calendars of 400 days; a station that must
/// warm up loses that after every stretch in which it cooled.
/// Errors: Fault::bad_input, "source: orders.X: what; the mend": a route, title, station, machine, skill or step that
/// is not there (the nearest is offered), a title without a cut, no discs, waits in a circle.
Result<ShopProblem> lay_out_orders(const works::Shop& shop, const Freeze& freeze = {});

/// Refuses the first due date that not even an empty works could keep, with the earliest that it could and the
/// longest of what it waits for. Orders whose lateness is known are let pass.
Outcome check_due_dates(const works::Shop& shop, const ShopProblem& problem);

/// 2026-11-25 14:30 of a time on the works' clock.
[[nodiscard]] std::string shown_time(std::int64_t local_s);

}  // namespace goodside::plan
