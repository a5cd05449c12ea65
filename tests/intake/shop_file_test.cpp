#include "intake/shop_file.hpp"

#include <gtest/gtest.h>

namespace goodside::intake {
namespace {

const std::string start = "now = \"2026-11-26 06:00\"\n";
const std::string order =
    "[orders.O-1]\ntitle = \"T\"\nroute = \"lp\"\nquantity = 500\ndue = \"2026-12-11\"\n";

std::string said(const std::string& text) {
  const auto shop = shop_from_toml(text, "works.toml");
  return shop ? "read" : shop.error().text;
}

TEST(ShopFile, ReadsShiftsOverMidnightAndSeveralDays) {
  const auto shop = shop_from_toml(start + order +
                                       "[hours.night]\nshifts = [\"fri-mon 22:00-06:00\", "
                                       "\"tue,thu 08:00-24:00\"]\nclosed = \"2026-12-25\"\n",
                                   "works.toml");
  ASSERT_TRUE(shop) << shop.error().text;
  const auto& hours = shop->hours.at(0);
  ASSERT_EQ(hours.shifts.size(), 2U);
  EXPECT_EQ(hours.shifts[0].days,
            (std::array<bool, 7>{true, false, false, false, true, true, true}));
  EXPECT_EQ(hours.shifts[0].from_s, 22 * 3600);
  EXPECT_EQ(hours.shifts[0].to_s, 30 * 3600);
  EXPECT_EQ(hours.shifts[1].days,
            (std::array<bool, 7>{false, true, false, true, false, false, false}));
  EXPECT_EQ(hours.shifts[1].to_s, 24 * 3600);
  // 2026-12-25 is 20812 days after 1970-01-01 (Python: datetime.date.toordinal).
  EXPECT_EQ(hours.closed.at(0), 20812LL * 86400);
  EXPECT_EQ(shop->now_s, 20783LL * 86400 + 6 * 3600);
}

TEST(ShopFile, PutsStepsBehindThoseTheyWaitFor) {
  const auto shop = shop_from_toml(
      start + order +
          "[routes.lp.steps.a]\nafter = [\"b\", \"c\"]\n[routes.lp.steps.b]\nafter = \"c\"\n"
          "[routes.lp.steps.c]\ntime = \"8 h\"\n",
      "works.toml");
  ASSERT_TRUE(shop) << shop.error().text;
  const auto& steps = shop->routes.at(0).steps;
  EXPECT_EQ(steps.at(0).id, "c");
  EXPECT_EQ(steps.at(1).id, "b");
  EXPECT_EQ(steps.at(2).id, "a");
  EXPECT_DOUBLE_EQ(steps.at(0).time_s, 8 * 3600.0);
}

TEST(ShopFile, LeavesToTheRecordWhatItDoesNotTell) {
  const std::string text =
      "[orders.O-1]\nweight = 2\n[orders.O-2]\nleave_out = true\n[titles.T]\nsets = 2\n"
      "[machines.p]\nstation = \"press\"\npress = \"Press 1\"\n"
      "[routes.lp]\nformats = [\"12in-33\"]\n[routes.lp.steps.a]\nmeans = \"run\"\n"
      "[orders.O-1.begun.pressed]\ngood = 40\ndone = [\"a\"]\n";
  EXPECT_FALSE(shop_from_toml(text, "shop.toml"));
  const auto shop = shop_from_toml(text, "shop.toml", true);
  ASSERT_TRUE(shop) << shop.error().text;
  EXPECT_EQ(shop->now_s, 0);
  EXPECT_EQ(shop->orders.at(0).quantity, 0);
  EXPECT_EQ(shop->orders.at(0).begun.at(0).good, 40);
  EXPECT_TRUE(shop->orders.at(1).leave_out);
  EXPECT_EQ(shop->titles.at(0).sets, 2);
  EXPECT_EQ(shop->titles.at(0).spares, -1);
  EXPECT_EQ(shop->machines.at(0).press, "Press 1");
  EXPECT_EQ(shop->routes.at(0).formats.at(0), "12in-33");
  EXPECT_EQ(shop->routes.at(0).steps.at(0).means, "run");
}

TEST(ShopFile, NamesLineAndMend) {
  EXPECT_EQ(said(start), "works.toml:1: there is nothing to plan; add an order under [orders]");
  EXPECT_NE(said(order).find("now is missing; say from when to plan"), std::string::npos)
      << said(order);
  EXPECT_NE(said(start + order + "[hours.d]\nshifts = [\"mon 25:00-26:00\"]\n")
                .find("works.toml:8: hours.d.shifts: \"mon 25:00-26:00\" is no shift"),
            std::string::npos)
      << said(start + order + "[hours.d]\nshifts = [\"mon 25:00-26:00\"]\n");
  EXPECT_NE(said(start + order + "[machines.p]\nstation = \"press\"\npace = inf\n")
                .find("not a finite number"),
            std::string::npos);
  EXPECT_NE(said(start + order + "[machines.p]\nplaces = 2\n").find("station is missing"),
            std::string::npos);
  EXPECT_NE(said(start + order +
                 "[routes.lp.steps.a]\nafter = \"b\"\n[routes.lp.steps.b]\nafter = \"a\"\n")
                .find("circle"),
            std::string::npos);
  EXPECT_NE(said(start + order + "[hands.h]\nskills = [1]\n").find("a text in quotes should"),
            std::string::npos);
}

}  // namespace
}  // namespace goodside::intake
