#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <numeric>

#include "plan/dispatch_rule.hpp"
#include "plan/job_shop_reader.hpp"
#include "plan/mixed_integer.hpp"
#include "plan/neighbourhood.hpp"
#include "plan/plan_shop.hpp"
#include "plan/small_shop.hpp"
#include "plan/time_indexed.hpp"
#include "stats/draw.hpp"

namespace goodside::plan {
namespace {

SearchOptions short_search(int jobs = 1) {
  return {
      .rounds = 2, .moves = 3000, .windows = 2, .streams = 2, .jobs = jobs, .seed = 1, .go_on = {}};
}

// Second road: second by second.
TEST(ShopCalendar, PlacesWorkAsCountingSecondsDoes) {
  const ShopCalendar calendar{{{10, 20}, {25, 40}, {40, 42}, {60, 90}}};
  const auto open = [](std::int64_t t) {
    return (t >= 10 && t < 20) || (t >= 25 && t < 42) || (t >= 60 && t < 90);
  };
  for (std::int64_t ready = 0; ready < 95; ++ready)
    for (std::int64_t work = 1; work <= 30; ++work) {
      std::int64_t left = work, t = ready, start = -1;
      for (; t < 90 && left > 0; ++t)
        if (open(t)) {
          if (start < 0) start = t;
          --left;
        }
      const auto placed = calendar.place(ready, work, true);
      if (left == 0) {
        EXPECT_EQ(placed.start_s, start);
        EXPECT_EQ(placed.end_s, t);
      } else {
        EXPECT_EQ(placed.end_s, never_s);
      }
      std::int64_t whole = ready;
      while (whole + work <= 90 && ![&] {
        for (std::int64_t s = whole; s < whole + work; ++s)
          if (!open(s)) return false;
        return true;
      }())
        ++whole;
      EXPECT_EQ(calendar.place(ready, work, false).end_s,
                whole + work <= 90 ? whole + work : never_s);
    }
}

/// Weighted lateness of jobs on one unit, in every order there is.
double least_by_enumeration(const ShopModel& model) {
  std::vector<std::size_t> order(model.operations.size());
  std::iota(order.begin(), order.end(), 0U);
  double least = 1e300;
  do {
    double late = 0.0;
    std::int64_t now = 0;
    for (const std::size_t i : order) {
      now = std::max(now, model.operations[i].release_s) + model.operations[i].needs[0][0].work_s;
      late += model.orders[i].weight *
              static_cast<double>(std::max<std::int64_t>(0, now - model.orders[i].due_s));
    }
    least = std::min(least, late);
  } while (std::next_permutation(order.begin(), order.end()));
  return least;
}

ShopModel one_unit(std::uint64_t seed, int jobs) {
  stats::Draw draw{seed};
  ShopModel model;
  model.calendars.emplace_back();
  ShopUnit unit;
  unit.id = "press";
  model.units.push_back(unit);
  for (int j = 0; j < jobs; ++j) {
    ShopOrder order;
    order.id = std::to_string(j);
    order.due_s = 600 * static_cast<std::int64_t>(1 + draw.whole(20));
    order.weight = static_cast<double>(1 + draw.whole(4));
    model.orders.push_back(order);
    ShopOperation work;
    work.id = order.id;
    work.order = j;
    work.release_s = 600 * static_cast<std::int64_t>(draw.whole(8));
    work.needs = {{{0, 600 * static_cast<std::int64_t>(1 + draw.whole(7))}}};
    model.operations.push_back(work);
  }
  return model;
}

// Second road: all 720 orders of six jobs.
TEST(Schedule, FindsProvesAndBoundsWhatEnumerationFinds) {
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    const ShopModel model = one_unit(seed, 6);
    const double least = least_by_enumeration(model);
    const ShopIndex index{model};
    const auto found = search_plan(index, short_search());
    ASSERT_TRUE(found);
    EXPECT_DOUBLE_EQ(found->plan.cost.late, least);
    const auto proof = prove(index, found->plan, {});
    ASSERT_TRUE(proof);
    EXPECT_TRUE(proof->exact);
    EXPECT_NEAR(proof->bound.late, least, 1e-3);
    const auto bound = plan_bound(index,
                                  {.slot_s = 600,
                                   .rounds = 300,
                                   .target_late = least,
                                   .target_end_s = found->plan.cost.end_s});
    EXPECT_LE(bound.late, least * (1.0 + 1e-9));
    EXPECT_GE(bound.late, 0.85 * least);
  }
}

/// Equal works on one machine with the one hand that tends it, and a wait behind each; due dates as given.
ShopModel bench_and_hand(int jobs, std::int64_t work_s, std::int64_t wait_s) {
  ShopModel model;
  model.calendars.emplace_back();
  for (const char* id : {"bench", "hand"}) {
    ShopUnit unit;
    unit.id = id;
    model.units.push_back(unit);
  }
  for (int j = 0; j < jobs; ++j) {
    ShopOrder order;
    order.id = std::to_string(j);
    model.orders.push_back(order);
    ShopOperation work;
    work.id = order.id + " bench";
    work.order = j;
    work.needs = {{{0, work_s}}, {{1, 0}}};
    model.operations.push_back(work);
    ShopOperation wait;
    wait.id = order.id + " wait";
    wait.order = j;
    wait.wait_s = wait_s;
    wait.after = {{2 * j, 0}};
    model.operations.push_back(wait);
  }
  return model;
}

// Closed form: equal works of equal weight, all due at d: the k-th ends at k p + w, whatever the order.
TEST(Schedule, BoundOfAGroupSeesTheWaitBehindIt) {
  constexpr std::int64_t work_s = 5400, wait_s = 72 * 3600, due_s = 76 * 3600;
  constexpr int jobs = 30;
  ShopModel model = bench_and_hand(jobs, work_s, wait_s);
  double least = 0.0;
  for (int k = 0; k < jobs; ++k) {
    model.orders[static_cast<std::size_t>(k)].due_s = due_s;
    least += static_cast<double>(std::max<std::int64_t>(0, (k + 1) * work_s + wait_s - due_s));
  }
  const ShopIndex index{model};
  const auto bound = plan_bound(
      index,
      {.slot_s = 0, .rounds = 60, .target_late = least, .target_end_s = jobs * work_s + wait_s});
  EXPECT_LE(bound.late, least * (1.0 + 1e-9));
  EXPECT_GE(bound.late, 0.9 * least);
  EXPECT_EQ(bound.late_unit, 0);
}

// Closed form: each work is due when it ends in the order of due dates, so that this order alone has no lateness; the
// urgent ones weigh least. Moves of one chain cannot find it: bench and hand must change places together.
TEST(Schedule, PrioritiesOrderWorksThatHoldTwoUnits) {
  constexpr std::int64_t work_s = 3600, wait_s = 24 * 3600;
  constexpr int jobs = 25;
  ShopModel model = bench_and_hand(jobs, work_s, wait_s);
  for (int k = 0; k < jobs; ++k) {
    ShopOrder& order = model.orders[static_cast<std::size_t>(k * 7 % jobs)];
    order.due_s = (k + 1) * work_s + wait_s;
    order.weight = k + 1.0;
  }
  const ShopIndex index{model};
  const auto found = search_plan(index, short_search());
  ASSERT_TRUE(found);
  EXPECT_EQ(found->plan.cost.late, 0.0);
}

// Published: ft06 of OR-Library ends at 55 at the least.
TEST(Schedule, MeetsThePublishedEndOfAJobShop) {
  const auto shops = published_job_shops();
  const JobShop& shop = shops.at("ft06");
  const ShopIndex index{shop.model};
  const auto found = search_plan(
      index,
      {.rounds = 4, .moves = 20000, .windows = 0, .streams = 4, .jobs = 1, .seed = 1, .go_on = {}});
  ASSERT_TRUE(found);
  EXPECT_EQ(found->plan.cost.end_s, shop.optimum_s);
  EXPECT_LE(plan_bound(index, {}).end_s, shop.optimum_s);
}

// Property: random moves, some taken back, leave the graph as one built anew.
TEST(ScheduleGraph, MovesAndTheirUndoingAgreeWithAFreshGraph) {
  const auto problem = lay_out_orders(small_shop());
  ASSERT_TRUE(problem);
  const ShopIndex index{problem->model};
  const auto rule = dispatch_rule(index);
  ASSERT_TRUE(rule);
  ScheduleGraph graph{index, *rule};
  stats::Draw draw{5};
  int applied = 0;
  for (int n = 0; n < 3000; ++n) {
    const int work = static_cast<int>(draw.whole(index.count()));
    if (index.needs(static_cast<std::size_t>(work)) == 0) continue;
    const int need = static_cast<int>(draw.whole(index.needs(static_cast<std::size_t>(work))));
    const auto& choices = problem->model.operations[static_cast<std::size_t>(work)]
                              .needs[static_cast<std::size_t>(need)];
    const int choice = static_cast<int>(draw.whole(choices.size()));
    int behind = graph.last_of(choices[static_cast<std::size_t>(choice)].unit);
    for (auto steps = draw.whole(5); steps > 0 && behind != no_matter; --steps)
      behind = graph.before(behind,
                            graph.need_on(behind, choices[static_cast<std::size_t>(choice)].unit));
    const PlanCost before = graph.cost();
    if (!graph.apply({work, need, choice, behind})) {
      EXPECT_EQ(graph.cost(), before);
      continue;
    }
    ++applied;
    if (draw.whole(2) == 0) {
      graph.take_back();
      EXPECT_EQ(graph.cost(), before);
    }
    if (n % 50 == 0) {
      const ShopSchedule now = graph.schedule();
      const ShopSchedule again = ScheduleGraph{index, now}.schedule();
      EXPECT_EQ(again.cost, now.cost);
      for (std::size_t i = 0; i < now.works.size(); ++i)
        EXPECT_EQ(again.works[i].start_s, now.works[i].start_s);
    }
  }
  EXPECT_GT(applied, 300);
}

/// That no unit does two works at once, with the change-over between, and every wait is kept.
void expect_sound(const ShopModel& model, const ShopSchedule& plan) {
  const ShopIndex index{model};
  std::map<int, std::vector<std::size_t>> by_unit;
  for (std::size_t i = 0; i < model.operations.size(); ++i) {
    const ShopOperation& work = model.operations[i];
    for (const ShopAfter& after : work.after)
      EXPECT_GE(plan.works[i].start_s,
                plan.works[static_cast<std::size_t>(after.operation)].end_s + after.lag_s)
          << work.id;
    EXPECT_TRUE(work.fixed || plan.works[i].start_s >= work.release_s) << work.id;
    for (std::size_t k = 0; k < work.needs.size(); ++k) {
      const int unit = work.needs[k][static_cast<std::size_t>(plan.works[i].choice[k])].unit;
      by_unit[unit].push_back(i);
      const auto& open = model.calendars[static_cast<std::size_t>(
          model.units[static_cast<std::size_t>(unit)].calendar)];
      if (!work.fixed) {
        EXPECT_GE(open.open_between(plan.works[i].start_s, plan.works[i].end_s),
                  work.needs[0][static_cast<std::size_t>(plan.works[i].choice[0])].work_s);
      }
    }
  }
  for (auto& [unit, works] : by_unit) {
    std::sort(works.begin(), works.end(), [&](std::size_t one, std::size_t other) {
      return plan.works[one].start_s < plan.works[other].start_s;
    });
    for (std::size_t k = 1; k < works.size(); ++k)
      EXPECT_GE(plan.works[works[k]].start_s, plan.works[works[k - 1]].end_s)
          << model.units[static_cast<std::size_t>(unit)].id;
  }
}

TEST(PlanShop, KeepsUnitsWaitsHoursAndGivesTheSameForAnyNumberOfThreads) {
  const works::Shop shop = small_shop();
  const auto one = plan_shop(shop, {.search = short_search(1), .freeze = {}, .price_rounds = 5});
  const auto two = plan_shop(shop, {.search = short_search(2), .freeze = {}, .price_rounds = 5});
  ASSERT_TRUE(one) << one.error().text;
  ASSERT_TRUE(two);
  expect_sound(one->problem.model, one->schedule);
  EXPECT_EQ(one->schedule.cost, two->schedule.cost);
  for (std::size_t i = 0; i < one->schedule.works.size(); ++i)
    EXPECT_EQ(one->schedule.works[i].start_s, two->schedule.works[i].start_s);
  EXPECT_LE(one->plan.least_late, one->plan.plan.late);
  EXPECT_LE(one->plan.plan.late, one->plan.rule.late);
}

TEST(PlanShop, ReplansRoundABrokenPressWithoutMovingWhatIsFrozen) {
  works::Shop shop = small_shop();
  const auto first = plan_shop(shop, {.search = short_search(), .freeze = {}, .price_rounds = 0});
  ASSERT_TRUE(first);
  shop.now_s += 4 * hour_s;
  for (auto& machine : shop.machines)
    if (machine.id == "press-1") machine.closed.push_back({shop.now_s, shop.now_s + 30 * day_s});
  for (auto& order : shop.orders) order.late_known = true;
  const auto again = plan_shop(shop,
                               {.search = short_search(),
                                .freeze = {.earlier = &first->plan, .frozen_s = day_s},
                                .price_rounds = 0});
  ASSERT_TRUE(again) << again.error().text;
  expect_sound(again->problem.model, again->schedule);
  std::map<std::string, const works::PlannedWork*> before;
  for (const auto& work : first->plan.works) before[work.id] = &work;
  int kept = 0;
  for (const auto& work : again->plan.works) {
    EXPECT_NE(work.unit, "press-1");
    if (!work.fixed) continue;
    ++kept;
    EXPECT_EQ(work.start_s + shop.now_s, before.at(work.id)->start_s + first->plan.now_s);
    EXPECT_EQ(work.unit, before.at(work.id)->unit);
  }
  EXPECT_GT(kept, 0);
}

TEST(PlanShop, OneMoreOfTheBottleneckTakesLatenessAway) {
  works::Shop shop = small_shop();
  shop.machines.pop_back();  // one press alone
  for (auto& order : shop.orders) {
    order.late_known = true;
    order.due_s = monday_s + 4 * day_s;
  }
  const auto planned = plan_shop(
      shop, {.search = short_search(), .freeze = {}, .price_rounds = 20, .proved_works = 0});
  ASSERT_TRUE(planned);
  double most = 0.0;
  for (const auto& load : planned->plan.loads)
    if (load.station == "press" && load.one_more)
      most = planned->plan.plan.late - load.one_more->late;
  EXPECT_GT(most, 0.0);
}

std::string refused(works::Shop shop) {
  const auto planned = plan_shop(
      shop,
      {.search = {.rounds = 0, .go_on = {}}, .freeze = {}, .price_rounds = 0, .one_more_of = 0});
  return planned ? "planned" : planned.error().text;
}

TEST(PlanShop, NamesWhatCannotBeAndTheMend) {
  works::Shop shop = small_shop();
  shop.orders[1].due_s = monday_s + day_s;
  EXPECT_NE(refused(shop).find("orders.O-2.due: 2026-11-24 06:00 cannot be kept even by an empty "
                               "works, which could end at"),
            std::string::npos)
      << refused(shop);
  EXPECT_NE(refused(shop).find("approval"), std::string::npos);
  shop.orders[1].late_known = true;
  EXPECT_EQ(refused(shop), "planned");
  shop = small_shop();
  shop.titles[0].cut = false;
  EXPECT_NE(refused(shop).find("orders.O-1: title \"T-1\" has no approved cut"), std::string::npos)
      << refused(shop);
  shop = small_shop();
  shop.machines[1].station = "pres";
  EXPECT_NE(refused(shop).find("machines.press-1.station: there is no station \"pres\""),
            std::string::npos)
      << refused(shop);
  shop = small_shop();
  shop.machines.resize(1);
  EXPECT_NE(refused(shop).find("station \"press\" has no machine"), std::string::npos)
      << refused(shop);
  shop = small_shop();
  shop.hands.clear();
  EXPECT_NE(refused(shop).find("no hand has the skill \"press\""), std::string::npos);
  shop = small_shop();
  shop.orders[0].title = "T-9";
  EXPECT_NE(refused(shop).find("there is no title \"T-9\""), std::string::npos);
}

// Textbook knapsack: values 60, 100, 120, weights 10, 20, 30, at most 50: 220 (common practice, no source).
TEST(MixedInteger, SolvesAKnapsack) {
  MixedInteger problem;
  problem.columns = {{-60.0, 1.0, true}, {-100.0, 1.0, true}, {-120.0, 1.0, true}};
  problem.rows = {
      {.low = -1e300, .high = 50.0, .columns = {0, 1, 2}, .factors = {10.0, 20.0, 30.0}}};
  problem.rows[0].low = -std::numeric_limits<double>::infinity();
  const auto answer = solve(problem, {});
  ASSERT_TRUE(answer);
  EXPECT_TRUE(answer->proven);
  EXPECT_NEAR(answer->value, -220.0, 1e-9);
}

}  // namespace
}  // namespace goodside::plan
