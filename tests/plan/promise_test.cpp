#include "plan/promise.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "plan/small_shop.hpp"

namespace goodside::plan {
namespace {

PlannedShop planned(const works::Shop& shop) {
  auto made = plan_shop(shop,
                        {.search = {.rounds = 1,
                                    .moves = 2000,
                                    .windows = 0,
                                    .streams = 2,
                                    .jobs = 1,
                                    .seed = 1,
                                    .go_on = {}},
                         .freeze = {},
                         .price_rounds = 0,
                         .one_more_of = 0});
  EXPECT_TRUE(made) << (made ? "" : made.error().text);
  return std::move(*made);
}

works::Shop one_wait(double spread) {
  works::Shop shop = small_shop();
  shop.orders.resize(1);
  shop.orders[0].quantity = 1;
  shop.orders[0].in_hand = {"test"};
  shop.routes[0].steps[2].spread = spread;
  shop.stations[1].skill = "";
  shop.stations[1].title_change_s = shop.stations[1].format_change_s = 0;
  for (auto& machine : shop.machines) machine.hours = "";
  return shop;
}

// Closed form: one log-normal wait of median 48 h, then a press of 30 s: P(end <= t) = Phi(ln((t - 30 s)/48 h)/sigma).
TEST(Promise, AgreesWithTheLogNormalOfOneWait) {
  const double sigma = 0.4;
  works::Shop shop = one_wait(sigma);
  const double due_s = 60.0 * hour_s;
  shop.orders[0].due_s = monday_s + static_cast<std::int64_t>(due_s);
  const auto made = planned(shop);
  const auto promised = promise(shop, made, {.replays = 20000, .seed = 3, .jobs = 2});
  const double expected =
      0.5 * std::erfc(-std::log((due_s - 30.0) / (48.0 * hour_s)) / sigma / std::sqrt(2.0));
  const double error = std::sqrt(expected * (1.0 - expected) / 20000.0);
  EXPECT_NEAR(promised.orders[0].on_time, expected, 4.0 * error);
  const double ninety_s = 48.0 * hour_s * std::exp(1.2815515655446004 * sigma) + 30.0;
  EXPECT_NEAR(static_cast<double>(promised.orders[0].ninety_s), ninety_s, 0.02 * ninety_s);
  ASSERT_FALSE(promised.orders[0].causes.empty());
  EXPECT_EQ(promised.orders[0].causes[0].cause, "times");
}

// Coverage: of 300 promises of 200 replays each under other seeds, the 95 % interval holds the true chance in nearly
// 95 % (it is exact, so at least that; binomial 4 sigma below 0.95 is 0.90).
TEST(Promise, IntervalsCoverTheTrueChanceAsOftenAsTheySay) {
  works::Shop shop = one_wait(0.4);
  const double due_s = 60.0 * hour_s;
  shop.orders[0].due_s = monday_s + static_cast<std::int64_t>(due_s);
  const auto made = planned(shop);
  const double expected =
      0.5 * std::erfc(-std::log((due_s - 30.0) / (48.0 * hour_s)) / 0.4 / std::sqrt(2.0));
  int covered = 0;
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    const auto promised = promise(shop, made, {.replays = 200, .seed = seed, .jobs = 1});
    covered +=
        promised.orders[0].on_time_low <= expected && expected <= promised.orders[0].on_time_high
            ? 1
            : 0;
  }
  EXPECT_GE(covered, 270);
  EXPECT_LT(covered, 300);
}

works::Shop rough(double refused) {
  works::Shop shop = small_shop();
  for (auto& step : shop.routes[0].steps) step.spread = 0.2;
  shop.routes[0].steps[2].refused = refused;
  shop.routes[0].steps[2].again = "test";
  shop.routes[0].steps[3].yield = 0.95;
  shop.routes[0].steps[3].yield_spread = 0.4;
  shop.stations[1].breakdown_every_s = 60 * hour_s;
  shop.stations[1].repair_s = 3 * hour_s;
  for (auto& title : shop.titles) {
    title.life_shape = 2.5;
    title.life_closings = 700;
  }
  return shop;
}

TEST(Promise, IsTheSameForAnyNumberOfThreads) {
  const works::Shop shop = rough(0.1);
  const auto made = planned(shop);
  const auto one = promise(shop, made, {.replays = 500, .seed = 9, .jobs = 1});
  const auto three = promise(shop, made, {.replays = 500, .seed = 9, .jobs = 3});
  EXPECT_EQ(one.all_on_time, three.all_on_time);
  for (std::size_t k = 0; k < one.orders.size(); ++k)
    EXPECT_EQ(one.orders[k].curve_s, three.orders[k].curve_s);
}

// Property: common random numbers. More refusals are never sooner, replay by replay, hence at every quantile.
TEST(Promise, MeetsTheSameLuckInTwoPlans) {
  const works::Shop few = rough(0.02), many = rough(0.4);
  const auto made_few = planned(few), made_many = planned(many);
  const auto seldom = promise(few, made_few, {.replays = 400, .seed = 2, .jobs = 1});
  const auto often = promise(many, made_many, {.replays = 400, .seed = 2, .jobs = 1});
  for (std::size_t k = 0; k < seldom.orders.size(); ++k)
    for (std::size_t p = 0; p < seldom.orders[k].curve_s.size(); ++p)
      EXPECT_LE(seldom.orders[k].curve_s[p], often.orders[k].curve_s[p]);
}

// Closed form: O-3 is planned behind O-1 (9 h, log-normal, sigma 1) on its press; O-2 frees the other after 10 h exactly. So O-3
// (10 h) ends by 20 h in every replay, though O-1 takes more than 46 h in one of twenty.
TEST(Promise, GoesToAnotherPressWhereItsOwnIsHeldUp) {
  works::Shop shop = small_shop();
  works::ShopStep run = shop.routes[0].steps[3];
  run.after = {};
  run.arrival = "";
  run.each_s = 36.0;
  run.per_lot = false;
  shop.routes = {{.id = "sure", .lot = 0, .steps = {run}, .formats = {}, .materials = {}}};
  run.spread = 1.0;
  shop.routes.push_back({.id = "unsure", .lot = 0, .steps = {run}, .formats = {}, .materials = {}});
  shop.stations[1].skill = "";
  shop.stations[1].title_change_s = shop.stations[1].format_change_s = 0;
  for (auto& machine : shop.machines) machine.hours = "";
  for (std::size_t k = 0; k < 3; ++k) {
    shop.orders[k].route = k == 0 ? "unsure" : "sure";
    shop.orders[k].quantity = k == 0 ? 900 : 1000;
    shop.orders[k].due_s = monday_s + (k == 2 ? 100 : 11) * hour_s;
  }
  const auto made = planned(shop);
  ASSERT_EQ(made.schedule.order_end_s[2], 19 * hour_s);
  const auto promised = promise(shop, made, {.replays = 500, .seed = 4, .jobs = 1});
  EXPECT_GT(promised.orders[0].ninety_five_s, 30 * hour_s);
  EXPECT_LE(promised.orders[2].curve_s.back(), 20 * hour_s);
  EXPECT_LT(promised.orders[2].half_s, 20 * hour_s);
}

TEST(Promise, WithoutUncertaintyIsThePlan) {
  works::Shop shop = small_shop();
  const auto made = planned(shop);
  const auto promised = promise(shop, made, {.replays = 5, .seed = 1, .jobs = 1});
  for (const auto& order : promised.orders) {
    EXPECT_EQ(order.curve_s.front(), order.planned_s);
    EXPECT_EQ(order.curve_s.back(), order.planned_s);
  }
}

}  // namespace
}  // namespace goodside::plan
