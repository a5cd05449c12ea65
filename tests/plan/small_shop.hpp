#pragma once
#include <string>

#include "works/shop.hpp"

namespace goodside::plan {

inline constexpr std::int64_t hour_s = 3600, day_s = 86400;
inline constexpr std::int64_t monday_s =
    20783 * day_s - 3 * day_s + 6 * hour_s;  // 2026-11-23 06:00

/// Two presses that take sets, tanks for each side, a bench of one hand, waits, two titles.
inline works::Shop small_shop() {
  works::Shop shop;
  shop.name = "a works";
  shop.source = "works.toml";
  shop.now_s = monday_s;
  shop.hours = {
      {.id = "two",
       .shifts = {{{true, true, true, true, true, false, false}, 6 * hour_s, 22 * hour_s}},
       .closed = {}}};
  const auto station = [&](const std::string& id, const std::string& skill, bool pauses) {
    works::ShopStation one;
    one.id = id;
    one.skill = skill;
    one.pauses = pauses;
    shop.stations.push_back(one);
  };
  station("tank", "", false);
  station("press", "press", true);
  shop.stations[1].takes_set = true;
  shop.stations[1].format_change_s = 2 * hour_s;
  shop.stations[1].title_change_s = 0.5 * hour_s;
  const auto machine =
      [&](const std::string& id, const std::string& at, const std::string& hours, int places) {
        works::ShopMachine one;
        one.id = id;
        one.station = at;
        one.hours = hours;
        one.places = places;
        shop.machines.push_back(one);
      };
  machine("tank", "tank", "", 2);
  machine("press-1", "press", "two", 1);
  machine("press-2", "press", "two", 1);
  shop.hands = {{.id = "hand", .hours = "two", .skills = {"press"}, .places = 2}};
  works::ShopRoute route;
  route.id = "lp";
  route.lot = 600;
  const auto step = [&](const std::string& id,
                        const std::string& at,
                        double time_s,
                        double each_s,
                        std::vector<std::string> after) {
    works::ShopStep one;
    one.id = id;
    one.station = at;
    one.time_s = time_s;
    one.each_s = each_s;
    one.after = std::move(after);
    route.steps.push_back(one);
  };
  step("stamper", "tank", 8 * hour_s, 0, {});
  route.steps.back().per_side = true;
  step("test", "press", hour_s, 0, {"stamper"});
  step("approval", "", 48 * hour_s, 0, {"test"});
  step("run", "press", 0, 30, {"approval"});
  route.steps.back().per_lot = true;
  route.steps.back().arrival = "labels";
  shop.routes = {route};
  for (const char* id : {"T-1", "T-2", "T-3"}) {
    works::ShopTitle title;
    title.id = id;
    title.format = title.id == "T-3" ? "7in" : "12in";
    title.cut = true;
    shop.titles.push_back(title);
  }
  for (const auto& [id, title, quantity, days, weight] : {std::tuple{"O-1", "T-1", 1200, 7, 1.0},
                                                          {"O-2", "T-2", 500, 6, 2.0},
                                                          {"O-3", "T-3", 900, 8, 1.0}}) {
    works::ShopOrderBook order;
    order.id = id;
    order.title = title;
    order.route = "lp";
    order.compound = "black";
    order.quantity = quantity;
    order.due_s = monday_s + days * day_s;
    order.weight = weight;
    shop.orders.push_back(order);
  }
  return shop;
}

}  // namespace goodside::plan
