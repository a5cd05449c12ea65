#include <gtest/gtest.h>

#include "intake/chart_table.hpp"
#include "intake/heard_lots.hpp"
#include "intake/need_tables.hpp"

namespace goodside::intake {
namespace {

template <class T>
std::string refused(const Result<T>& result) {
  return result ? "taken" : result.error().text;
}
bool says(const std::string& text, const std::string& wanted) {
  return text.find(wanted) != std::string::npos;
}

TEST(HeardLots, AreReadAndRefusedByLineAndColumn) {
  const auto lots = heard_lots_from_csv("lot;discs;flawed;heard\nA;500;1;\nB;90;0;13\n", "l.csv");
  ASSERT_TRUE(lots) << refused(lots);
  EXPECT_EQ(lots->at(0).name, "A");
  EXPECT_FALSE(lots->at(0).heard);
  EXPECT_EQ(*lots->at(1).heard, 13);
  EXPECT_TRUE(
      says(refused(heard_lots_from_csv("lot,discs,flawed\nA,1.5,0\n", "l.csv")), "l.csv:2: discs"));
  EXPECT_TRUE(says(refused(heard_lots_from_csv("lot,discs,flawed\nA,500,-1\n", "l.csv")),
                   "l.csv:2: flawed"));
  EXPECT_TRUE(says(refused(heard_lots_from_csv("lot,discs,flaw\nA,500,1\n", "l.csv")), "flawed"));
  EXPECT_TRUE(says(refused(heard_lots_from_csv("lot,discs,flawed\n", "l.csv")), "no lot"));
}

TEST(ChartTable, GathersSamplesByGroupOrByLine) {
  const std::string text = "sample,x,y\n1,2.5,3\n2,4,5\n1,6,\n";
  const auto grouped = chart_table_from_csv(text, "t.csv", {.values = {"x"}, .group = "sample"});
  ASSERT_TRUE(grouped) << refused(grouped);
  ASSERT_EQ(grouped->size(), 2U);
  EXPECT_EQ(grouped->at(0).values, (std::vector<double>{2.5, 6.0}));
  const auto lines = chart_table_from_csv(text, "t.csv", {.values = {"x", "y"}});
  ASSERT_TRUE(lines);
  EXPECT_EQ(lines->at(0).values, (std::vector<double>{2.5, 3.0}));
  EXPECT_EQ(lines->at(2).values, (std::vector<double>{6.0}));
  EXPECT_TRUE(says(refused(chart_table_from_csv(text, "t.csv", {.values = {"y"}})), "t.csv:4: y"));
  EXPECT_TRUE(says(refused(chart_table_from_csv(text, "t.csv", {.values = {"z"}})), "no column z"));
  EXPECT_TRUE(
      says(refused(chart_table_from_csv("c,n\n3,0\n", "t.csv", {.count = "c", .size = "n"})),
           "t.csv:2: n"));
}

TEST(NeedTables, AreTheWorksOwnFiguresAndOrders) {
  const auto figures = need_figures_from_toml(
      "name = \"a works\"\n[need]\nscrap = 0.03\ncycle_s = 28\n[need.recipe]\nresin = 0.75\nblack "
      "= 0.25\n",
      "g.toml");
  ASSERT_TRUE(figures) << refused(figures);
  EXPECT_DOUBLE_EQ(figures->scrap, 0.03);
  EXPECT_EQ(figures->told, 2U);
  EXPECT_DOUBLE_EQ(figures->recipe.at("resin"), 0.75);
  EXPECT_EQ(need_figures_from_toml("", "g.toml")->told, 0U);
  EXPECT_TRUE(says(refused(need_figures_from_toml("[need]\nscrap = 2\n", "g.toml")), "g.toml:2"));
  EXPECT_TRUE(says(refused(need_figures_from_toml("[need]\nscarp = 0.1\n", "g.toml")), "scrap"));
  EXPECT_TRUE(
      says(refused(need_figures_from_toml("[need.recipe]\na = 0.4\n", "g.toml")), "must make 1"));
  const auto orders =
      need_orders_from_csv("order,title,quantity,stampers_a,age_a\nO1,T,500,2,310.5\n", "o.csv");
  ASSERT_TRUE(orders) << refused(orders);
  EXPECT_EQ(orders->at(0).stampers_a, 2);
  EXPECT_DOUBLE_EQ(orders->at(0).age_a, 310.5);
  EXPECT_EQ(orders->at(0).stampers_b, 0);
  EXPECT_TRUE(says(refused(need_orders_from_csv("order,title,quantity\nO1,,5\n", "o.csv")),
                   "o.csv:2: title"));
}

}  // namespace
}  // namespace goodside::intake
