#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace goodside::works {

// A plan of the works, as goodside.plan/1 has it. Times are seconds since the plan's now; now_s as in shop.hpp.

struct PlannedWork {
  std::string id, order, step, title, station, unit;
  std::vector<std::string> helpers;  ///< the hand and the set of stampers held meanwhile
  std::int64_t start_s{}, end_s{};
  std::int64_t change_s{};  ///< of changing over before it
  bool fixed{};             ///< begun, or frozen
};

struct PlannedOrder {
  std::string id, title;
  std::int64_t quantity{};
  double weight{};
  std::int64_t due_s{}, end_s{}, earliest_s{};  ///< earliest: alone in an empty works
  [[nodiscard]] std::int64_t late_s() const { return end_s > due_s ? end_s - due_s : 0; }
};

struct PlanFigures {
  double late{};  ///< sum of weight times lateness [s]
  std::int64_t change_s{}, end_s{};
  int late_orders{};
};

struct StationLoad {
  std::string station;  ///< or "hand NAME", or "sets of stampers"
  int units{};
  double work_s{}, change_s{}, open_s{};  ///< until the last work's end there
  double waited_s{};                      ///< by works that could have begun but for its units
  std::optional<PlanFigures> one_more;    ///< the plan with one unit more
};

struct ShopPlan {
  std::string name;
  std::int64_t now_s{};
  std::vector<PlannedWork> works;  ///< in order of start
  std::vector<PlannedOrder> orders;
  std::vector<StationLoad> loads;  ///< the longest waited for first
  std::vector<std::string> units;  ///< all, by station
  PlanFigures plan, rule;          ///< rule: what the dispatching rule alone gave
  double least_late{};             ///< no plan has less
  std::int64_t least_end_s{};      ///< no plan ends sooner
  std::string proof;               ///< how that is known: "load", "prices", "integer", "optimal"
  std::int64_t rounds{};
  std::vector<std::string> moved;  ///< what was frozen and had to move, and why
  std::vector<std::string> found;  ///< what the record told of each order
};

/// How one order's end spreads over replays.
struct PromisedOrder {
  std::string id, title;
  std::int64_t due_s{}, planned_s{};
  std::int64_t half_s{}, ninety_s{},
      ninety_five_s{};                              ///< ends by then in that share of the replays
  double on_time{}, on_time_low{}, on_time_high{};  ///< chance, with its 95 % interval
  struct Cause {
    std::string cause;
    double share{};  ///< of the lateness over all late replays
  };
  std::vector<Cause> causes;          ///< largest first
  std::vector<std::int64_t> curve_s;  ///< ends at 0, 1, … 100 %
};

struct PlanPromise {
  std::string name;
  std::int64_t now_s{};
  std::int64_t replays{};
  std::uint64_t seed{};
  double all_on_time{}, all_on_time_low{}, all_on_time_high{};
  std::vector<PromisedOrder> orders;
  std::vector<PromisedOrder::Cause> causes;  ///< over all orders, by weight
  std::vector<std::string> found;            ///< what the record told of each order
  std::string lives;                         ///< where the law of stampers' lives comes from
};

}  // namespace goodside::works
