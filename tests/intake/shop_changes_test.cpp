#include "intake/shop_changes.hpp"

#include <gtest/gtest.h>

#include "intake/shop_file.hpp"

namespace goodside::intake {
namespace {

works::Shop shop() {
  const auto read = shop_from_toml(R"(now = "2026-11-26 06:00"
[hours.day]
shifts = ["mon-fri 06:00-14:00"]
closed = ["2026-12-25"]
[stations.press]
[stations.edge]
[machines.press-1]
station = "press"
hours = "day"
format = "12in"
closed = ["2026-11-30 06:00 / 2026-11-30 14:00"]
[machines.press-2]
station = "press"
hours = "day"
[machines.edge-1]
station = "edge"
[hands.ears]
skills = ["ears"]
hours = "day"
[routes.lp.steps.run]
station = "press"
time = "8 h"
[titles.T]
[orders.O-1]
title = "T"
route = "lp"
quantity = 500
due = "2026-12-11"
)",
                                   "works.toml");
  EXPECT_TRUE(read) << read.error().text;
  return *read;
}

std::string hours_of(const works::Shop& shop, const std::string& machine) {
  for (const auto& one : shop.machines)
    if (one.id == machine) return one.hours;
  return "no such machine";
}

std::string said(const ShopChanges& changes) {
  works::Shop changed = shop();
  const auto done = change_shop(changed, changes);
  return done ? "changed" : done.error().text;
}

TEST(ShopChanges, AMachineMoreIsAsTheFirstWithNothingOnIt) {
  works::Shop changed = shop();
  ASSERT_TRUE(change_shop(changed, {.more = {"press=2", "ears"}, .due = {}, .hours = {}}));
  ASSERT_EQ(changed.machines.size(), 5U);
  for (const std::size_t k : {3U, 4U}) {
    EXPECT_EQ(changed.machines[k].station, "press");
    EXPECT_EQ(changed.machines[k].hours, "day");
    EXPECT_EQ(changed.machines[k].format, "");
    EXPECT_TRUE(changed.machines[k].closed.empty());
  }
  EXPECT_NE(changed.machines[3].id, changed.machines[4].id);
  EXPECT_EQ(changed.hands[0].places, 2);
}

TEST(ShopChanges, HoursAreTheWorksOwnShiftsOrAlways) {
  works::Shop changed = shop();
  ASSERT_TRUE(change_shop(
      changed,
      {.more = {},
       .due = {},
       .hours = {"press=mon-sat 06:00-22:00; sun 06:00-12:00", "ears=always", "edge-1=day"}}));
  EXPECT_EQ(changed.hands[0].hours, "");
  EXPECT_EQ(hours_of(changed, "edge-1"), "day");
  EXPECT_EQ(hours_of(changed, "press-1"), hours_of(changed, "press-2"));
  const auto& hours = changed.hours.back();
  EXPECT_EQ(hours.id, hours_of(changed, "press-1"));
  ASSERT_EQ(hours.shifts.size(), 2U);
  EXPECT_EQ(hours.shifts[0].to_s, 22 * 3600);
  EXPECT_TRUE(hours.shifts[1].days[6]);
  // A holiday stays one: 2026-12-25 is 20812 days after 1970-01-01 (Python: datetime.date.toordinal).
  ASSERT_EQ(hours.closed.size(), 1U);
  EXPECT_EQ(hours.closed[0], 20812LL * 86400);
}

TEST(ShopChanges, AnOrderIsDueThen) {
  works::Shop changed = shop();
  ASSERT_TRUE(change_shop(changed, {.more = {}, .due = {"O-1=2026-12-16 14:00"}, .hours = {}}));
  EXPECT_EQ(changed.orders[0].due_s, 20803LL * 86400 + 14 * 3600);
}

TEST(ShopChanges, WhatCannotBeMeantIsOneSentence) {
  EXPECT_NE(said({.more = {"pres"}, .due = {}, .hours = {}}).find("did you mean `press`"),
            std::string::npos);
  for (const char* more : {"press=0", "press=-1", "press=101", "press=1.5", "press=", "=1", ""})
    EXPECT_NE(said({.more = {more}, .due = {}, .hours = {}}), "changed") << more;
  for (const char* due : {"O-1", "O-1=", "O-1=2026-02-30", "O-9=2026-12-16", "=2026-12-16"})
    EXPECT_NE(said({.more = {}, .due = {due}, .hours = {}}), "changed") << due;
  for (const char* hours : {"press",
                            "press=",
                            "press=mon",
                            "press=mon-fri 6-14",
                            "press=;",
                            "none=day",
                            "press=mon 06:00-06:00"})
    EXPECT_NE(said({.more = {}, .due = {}, .hours = {hours}}), "changed") << hours;
}

}  // namespace
}  // namespace goodside::intake
