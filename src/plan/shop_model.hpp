#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "plan/shop_calendar.hpp"

namespace goodside::plan {

/// What must be changed between two works on one unit, at most: on a press format, compound and stampers.
inline constexpr std::size_t change_kinds = 3;
/// What a work may hold at once, at most: the press, the hand that tends it, the set of stampers.
inline constexpr std::size_t most_needs = 3;
/// A unit or work that has no format, compound or title of this kind: nothing is changed for it.
inline constexpr int no_matter = -1;

/// One thing that does one work at a time: a tank's position, a press, a hand, a set of stampers.
struct ShopUnit {
  std::string id;
  int calendar{};              ///< into ShopModel::calendars
  std::int64_t free_from_s{};  ///< busy until then with what is not in the plan
  std::array<std::int64_t, change_kinds> change_s{};  ///< time of each change
  std::array<int, change_kinds> mounted{-1, -1, -1};  ///< what is on it now
};

struct ShopChoice {
  int unit{};
  std::int64_t work_s{};  ///< how long the work takes there
};

/// Another work that must be done first, and how long after its end this one may begin.
struct ShopAfter {
  int operation{};
  std::int64_t lag_s{};
};

/// Where a work stands that may not be moved: begun already, or frozen.
struct ShopFixed {
  std::array<int, most_needs> choice{};
  std::int64_t start_s{}, end_s{};
};

/// One work of an order at one station.
struct ShopOperation {
  std::string id;
  int order{};
  /// Units held together from start to end; the first sets how long and is changed over. None: a wait, of wait_s.
  std::vector<std::vector<ShopChoice>> needs;
  std::int64_t wait_s{};
  std::array<int, change_kinds> setting{-1, -1, -1};
  bool pauses{};             ///< rests while a calendar is closed; else it must fit into one span
  std::int64_t release_s{};  ///< not before
  std::vector<ShopAfter> after;
  std::optional<ShopFixed> fixed;
};

struct ShopOrder {
  std::string id;
  std::int64_t due_s{never_s};
  double weight{1.0};
};

/// The whole problem. Operations stand in an order in which each comes after those it waits for.
struct ShopModel {
  std::vector<ShopCalendar> calendars;
  std::vector<ShopUnit> units;
  std::vector<ShopOperation> operations;
  std::vector<ShopOrder> orders;
};

/// Errors: Fault::bad_input naming the work: an index out of range, a work without a unit, waiting for a later one
/// or itself, a time that is negative or beyond 100 years.
[[nodiscard]] Outcome check_model(const ShopModel&);

/// What of a plan counts, in this order.
struct PlanCost {
  double late{};            ///< sum over orders of weight times lateness [s]
  std::int64_t change_s{};  ///< all changing over
  std::int64_t end_s{};     ///< the last work's end
  auto operator<=>(const PlanCost&) const = default;
};

/// Where each work stands.
struct PlacedWork {
  std::array<int, most_needs> choice{};  ///< into the operation's needs
  std::int64_t start_s{}, end_s{}, change_s{};
};

struct ShopSchedule {
  std::vector<PlacedWork> works;  ///< as ShopModel::operations
  std::vector<int> sequence;      ///< operations, each after all that must end before it begins
  std::vector<std::int64_t> order_end_s;
  PlanCost cost;
};

}  // namespace goodside::plan
