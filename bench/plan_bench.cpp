#include <fmt/format.h>
#include <sys/resource.h>

#include <chrono>
#include <cstdlib>
#include <string>
#include <vector>

#include "draw/curve_plot.hpp"
#include "intake/safe_file.hpp"
#include "plan/dispatch_rule.hpp"
#include "plan/neighbourhood.hpp"
#include "plan/plan_shop.hpp"
#include "plan/promise.hpp"
#include "plan/rule_search.hpp"
#include "stats/draw.hpp"

// The scale bench of the plan: plan_bench [SECONDS [LEAST [PICTURE.png]]] makes works of 25 to 200 orders (3,000 works,
// 24 presses) in memory, of LEAST orders at least, and prints, for each, processor and wall time of the first plan, what
// bettering it for SECONDS (20) gains on the dispatching rules, the bounds, a re-plan with a press down, and 10,000
// replays; then the bound where the load forces lateness. The picture draws processor time over the number of works.

namespace {

using namespace goodside;
using Clock = std::chrono::steady_clock;

constexpr std::int64_t hour_s = 3600, day_s = 86400, now_s = 20783 * day_s + 6 * hour_s;

works::ShopStation station(const std::string& id, const std::string& skill, bool pauses) {
  works::ShopStation one;
  one.id = id;
  one.skill = skill;
  one.pauses = pauses;
  return one;
}

works::ShopStep step(const std::string& id,
                     const std::string& at,
                     double time_h,
                     double each_s,
                     std::vector<std::string> after) {
  works::ShopStep one;
  one.id = id;
  one.station = at;
  one.time_s = time_h * hour_s;
  one.each_s = each_s;
  one.after = std::move(after);
  one.spread = 0.1;
  return one;
}

works::ShopRoute route() {
  works::ShopRoute lp;
  lp.id = "lp";
  lp.lot = 1000;
  auto& steps = lp.steps;
  steps = {step("father", "tank", 9, 0, {}),
           step("mother", "tank", 8, 0, {"father"}),
           step("stamper", "tank", 7, 0, {"mother"}),
           step("finish", "bench", 1, 0, {"stamper"}),
           step("mix", "mixer", 0.5, 0.5, {}),
           step("test", "press", 0.5, 0, {"finish", "mix"}),
           step("approval", "", 72, 0, {"test"}),
           step("run", "press", 0, 28, {"approval", "mix"}),
           step("edge", "edge", 0, 6, {"run"}),
           step("listen", "listening", 1.5, 0, {"run"}),
           step("pack", "pack", 0, 9, {"edge", "listen"})};
  for (std::size_t k = 0; k < 4; ++k) steps[k].per_side = true;
  for (std::size_t k = 7; k < steps.size(); ++k) steps[k].per_lot = true;
  steps[6].refused = 0.05;
  steps[7].yield = 0.95;
  steps[7].yield_spread = 0.3;
  steps[8].rest_s = 24 * hour_s;
  return lp;
}

/// When orders are due: from so many days on, spread over so many at 200 orders on 24 presses.
struct Dues {
  std::int64_t first_days{12}, over_days{12};
};

works::Shop make(int orders, int presses, const Dues& dues = {}) {
  stats::Draw draw{11};
  works::Shop shop;
  shop.name = "bench";
  shop.source = "bench";
  shop.now_s = now_s;
  const std::array<bool, 7> weekdays{true, true, true, true, true, false, false};
  shop.hours = {{.id = "day", .shifts = {{weekdays, 6 * hour_s, 14 * hour_s}}, .closed = {}},
                {.id = "two", .shifts = {{weekdays, 6 * hour_s, 22 * hour_s}}, .closed = {}}};
  shop.stations = {station("tank", "", false),
                   station("bench", "metal", false),
                   station("mixer", "", true),
                   station("press", "press", true),
                   station("edge", "press", true),
                   station("listening", "ears", false),
                   station("pack", "", true)};
  auto& press = shop.stations[3];
  press.format_change_s = 2 * hour_s;
  press.compound_change_s = 0.75 * hour_s;
  press.title_change_s = 0.4 * hour_s;
  press.warm_up_s = 0.5 * hour_s;
  press.stays_warm_s = 4 * hour_s;
  press.takes_set = true;
  press.breakdown_every_s = 150 * hour_s;
  press.repair_s = 2 * hour_s;
  const auto machine =
      [&](const std::string& id, const std::string& at, const std::string& hours, int places) {
        works::ShopMachine one;
        one.id = id;
        one.station = at;
        one.hours = hours;
        one.places = std::max(1, places);
        shop.machines.push_back(one);
      };
  machine("tank", "tank", "", presses * 2);
  machine("bench", "bench", "day", presses / 4);
  machine("mixer", "mixer", "two", presses / 8);
  for (int p = 1; p <= presses; ++p) machine(fmt::format("press-{}", p), "press", "two", 1);
  machine("edge", "edge", "two", presses / 3);
  machine("room", "listening", "day", presses / 4);
  machine("table", "pack", "day", presses / 3);
  shop.hands = {
      {.id = "metal", .hours = "day", .skills = {"metal"}, .places = std::max(1, presses / 4)},
      {.id = "press", .hours = "two", .skills = {"press"}, .places = presses + 4},
      {.id = "ears", .hours = "day", .skills = {"ears"}, .places = std::max(1, presses / 4)}};
  shop.routes = {route()};
  const std::array<std::int64_t, 8> sizes{300, 300, 500, 500, 800, 1000, 1500, 2500};
  const std::array<const char*, 4> compounds{"black", "black", "red", "clear"};
  for (int n = 1; n <= orders; ++n) {
    works::ShopTitle title;
    title.id = fmt::format("T-{}", n);
    title.format = draw.whole(4) == 0 ? "7in" : "12in";
    title.cut = true;
    title.sets = 1 + static_cast<int>(draw.whole(2));
    title.life_shape = 2.5;
    title.life_closings = 1200;
    title.spares = 1;
    works::ShopOrderBook order;
    order.id = fmt::format("O-{}", n);
    order.title = title.id;
    order.route = "lp";
    order.compound = compounds[draw.whole(4)];
    order.quantity = sizes[draw.whole(8)];
    order.due_s =
        now_s + dues.first_days * day_s +
        static_cast<std::int64_t>(draw.uniform() * static_cast<double>(dues.over_days * day_s) *
                                  24.0 * orders / (200.0 * presses));
    order.weight = static_cast<double>(1 + draw.whole(4));
    order.late_known = true;
    if (draw.whole(10) < 3) order.in_hand = {"stamper"};
    shop.titles.push_back(title);
    shop.orders.push_back(order);
  }
  return shop;
}

double processor_s() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  return static_cast<double>(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
         1e-6 * static_cast<double>(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}

/// What one size of works cost [s of processor].
struct Cost {
  double works{}, first{}, move{}, bound{}, again{}, replays{};
};

/// Says what a piece of work took, and keeps it.
class Lap {
 public:
  explicit Lap(const char* what, double* kept = nullptr) : what_{what}, kept_{kept} {}
  Lap(const Lap&) = delete;
  Lap& operator=(const Lap&) = delete;
  ~Lap() {
    if (kept_ != nullptr) *kept_ = processor_s() - processor_;
    fmt::print("  {:<34}{:>9.2f} s processor{:>9.2f} s wall\n",
               what_,
               processor_s() - processor_,
               std::chrono::duration<double>(Clock::now() - begun_).count());
  }

 private:
  const char* what_;
  double* kept_;
  double processor_{processor_s()};
  Clock::time_point begun_{Clock::now()};
};

int measure(int orders, int presses, double seconds, Cost& cost) {
  const works::Shop shop = make(orders, presses);
  auto problem = plan::lay_out_orders(shop);
  if (!problem) {
    fmt::print(stderr, "{}\n", problem.error().text);
    return 3;
  }
  fmt::print(
      "{} orders, {} works, {} presses\n", orders, problem->model.operations.size(), presses);
  cost.works = static_cast<double>(problem->model.operations.size());
  const plan::ShopIndex index{problem->model};
  plan::ShopSchedule rule, best;
  {
    const Lap lap{"one dispatching rule"};
    auto made = plan::dispatch_rule(index);
    if (!made) return 3;
    rule = std::move(*made);
  }
  {
    const Lap lap{"first plan: the best of eleven", &cost.first};
    auto made = plan::best_rule(index, 0);
    if (!made) return 3;
    best = std::move(made->plan);
  }
  {
    const Lap lap{"10,000 moves", &cost.move};
    (void)plan::anneal(index, rule, {.moves = 10000, .seed = 1, .heat = 1.0});
  }
  plan::SearchOptions search;
  search.rounds = 1'000'000;
  const auto until = Clock::now() + std::chrono::duration<double>(seconds);
  search.go_on = [&](std::int64_t, const plan::PlanCost&) { return Clock::now() < until; };
  Result<plan::SearchResult> found = plan::search_plan(index, {.rounds = 0, .go_on = {}});
  {
    const Lap lap{"bettered"};
    found = plan::search_plan(index, search);
  }
  if (!found) return 3;
  const auto gain = [](double from, double to) {
    return from > 0.0 ? 100.0 * (1.0 - to / from) : 0.0;
  };
  fmt::print(
      "  lateness: one rule {:.0f} h, best of eleven {:.0f} h, bettered {:.0f} h ({:.1f} and "
      "{:.1f} % "
      "less) after {} rounds; changing over {:.0f} to {:.0f} h\n",
      rule.cost.late / 3600.0,
      best.cost.late / 3600.0,
      found->plan.cost.late / 3600.0,
      gain(rule.cost.late, found->plan.cost.late),
      gain(best.cost.late, found->plan.cost.late),
      found->rounds,
      static_cast<double>(best.cost.change_s) / 3600.0,
      static_cast<double>(found->plan.cost.change_s) / 3600.0);
  plan::PlanBound load, prices;
  {
    const Lap lap{"bound by load"};
    load = plan::plan_bound(index, {});
  }
  {
    const Lap lap{"bound by prices, 60 rounds", &cost.bound};
    prices = plan::plan_bound(index,
                              {.slot_s = 0,
                               .rounds = 60,
                               .target_late = found->plan.cost.late,
                               .target_end_s = found->plan.cost.end_s});
  }
  fmt::print(
      "  least lateness: {:.0f} h by load, {:.0f} h by prices; end {:.0f} h, none before {:.0f} "
      "h\n",
      load.late / 3600.0,
      prices.late / 3600.0,
      static_cast<double>(found->plan.cost.end_s) / 3600.0,
      static_cast<double>(load.end_s) / 3600.0);
  auto planned = plan::plan_shop(
      shop, {.search = {.rounds = 0, .go_on = {}}, .price_rounds = 0, .one_more_of = 0});
  if (!planned) return 3;
  {
    works::Shop down = shop;
    for (auto& machine : down.machines)
      if (machine.id == "press-1") machine.closed.push_back({now_s + hour_s, now_s + 60 * hour_s});
    const Lap lap{"re-plan with a press down, 1 round", &cost.again};
    const auto again = plan::plan_shop(down,
                                       {.search = {.rounds = 1, .go_on = {}},
                                        .freeze = {.earlier = &planned->plan, .frozen_s = day_s},
                                        .price_rounds = 0,
                                        .one_more_of = 0});
    if (!again) {
      fmt::print(stderr, "{}\n", again.error().text);
      return 3;
    }
  }
  {
    const Lap lap{"promise, 10,000 replays", &cost.replays};
    (void)plan::promise(shop, *planned, {.replays = 10000});
  }
  return 0;
}

/// How much of the lateness the bound explains where the load forces it.
int measure_tight() {
  const works::Shop shop = make(50, 6, {.first_days = 8, .over_days = 6});
  const auto problem = plan::lay_out_orders(shop);
  if (!problem) return 3;
  const plan::ShopIndex index{problem->model};
  const auto found = plan::search_plan(index, {.rounds = 8, .go_on = {}});
  if (!found) return 3;
  fmt::print("50 orders due too soon, {} works, 6 presses\n", index.count());
  plan::PlanBound bound;
  {
    const Lap lap{"bound by prices, 60 rounds"};
    bound = plan::plan_bound(index,
                             {.slot_s = 0,
                              .rounds = 60,
                              .target_late = found->plan.cost.late,
                              .target_end_s = found->plan.cost.end_s});
  }
  fmt::print(
      "  lateness: best of eleven {:.0f} h, after 8 rounds {:.0f} h, none below {:.0f} h ({:.0f} "
      "%)\n",
      found->rule.cost.late / 3600.0,
      found->plan.cost.late / 3600.0,
      bound.late / 3600.0,
      100.0 * bound.late / found->plan.cost.late);
  return 0;
}

/// Cost against size.
int draw_costs(const std::vector<Cost>& costs, double seconds, const std::string& path) {
  using draw::CurveInk;
  const auto curve = [&](const char* name, double Cost::*value, CurveInk ink) {
    draw::Curve one{.name = name, .ink = ink, .dots = true};
    for (const Cost& cost : costs) one.points.push_back({cost.works, cost.*value});
    return one;
  };
  const Cost& last = costs.back();
  draw::CurvePicture picture{
      .title = "What planning costs, by the size of the works",
      .whose = fmt::format(
          "plan_bench {:.0f}, processor seconds on one machine; 3 to 24 presses, 25 to 200 orders",
          seconds),
      .x_title = "works of the plan",
      .x_low = 0.0,
      .x_high = 1.05 * last.works,
      .panels = {{.y_title = "seconds of processor"}, {.y_title = "seconds of processor"}}};
  picture.panels[0].curves = {curve("10,000 replays", &Cost::replays, CurveInk::copper),
                              curve("re-plan, one round", &Cost::again, CurveInk::ink),
                              curve("bound, 60 rounds", &Cost::bound, CurveInk::quiet)};
  picture.panels[0].y_high = 1.1 * std::max({last.replays, last.again, last.bound});
  picture.panels[1].curves = {curve("first plan", &Cost::first, CurveInk::good),
                              curve("10,000 moves", &Cost::move, CurveInk::out)};
  picture.panels[1].y_high = 1.1 * std::max(last.first, last.move);
  draw::PlotOptions options;
  options.format = draw::PictureFormat::png;
  options.width_px = 1000;
  const auto drawn = draw::curve_plot(picture, options);
  if (!drawn || !intake::write_whole(path, *drawn)) {
    fmt::print(stderr, "{} cannot be drawn\n", path);
    return 3;
  }
  return 0;
}

}  // namespace

int main(int count, char** words) {
  const double seconds = count > 1 ? std::atof(words[1]) : 20.0;
  if (!(seconds > 0.0 && seconds <= 3600.0)) {
    fmt::print(stderr, "plan_bench [SECONDS [LEAST [PICTURE.png]]], above 0 and at most 3600\n");
    return 2;
  }
  const int least = count > 2 ? std::atoi(words[2]) : 0;
  std::vector<Cost> costs;
  for (const auto& [orders, presses] : {std::pair{25, 3}, {50, 6}, {100, 12}, {200, 24}})
    if (orders >= least)
      if (const int status = measure(orders, presses, seconds, costs.emplace_back()); status != 0)
        return status;
  if (const int status = measure_tight(); status != 0) return status;
  return count > 3 ? draw_costs(costs, seconds, words[3]) : 0;
}
