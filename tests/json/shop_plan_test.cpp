#include "json/shop_plan.hpp"

#include <gtest/gtest.h>

namespace goodside::json {
namespace {

works::ShopPlan sample() {
  works::ShopPlan plan;
  plan.name = "a works";
  plan.now_s = 1795672800;
  works::PlannedWork work;
  work.id = "O-1 run lot 2";
  work.order = "O-1";
  work.step = "run";
  work.station = "press";
  work.unit = "press-1";
  work.helpers = {"hand/2", "set 1 of T-1"};
  work.start_s = -60;
  work.end_s = 3600;
  work.fixed = true;
  plan.works = {work};
  work.id = "O-1 approval";
  work.unit.clear();
  work.helpers.clear();
  plan.works.push_back(work);
  return plan;
}

TEST(ShopPlanJson, ReadsBackWhatReplanningNeeds) {
  const auto plan = sample();
  const auto again = read_shop_plan(write(plan));
  ASSERT_TRUE(again) << again.error().text;
  EXPECT_EQ(again->now_s, plan.now_s);
  ASSERT_EQ(again->works.size(), 2U);
  EXPECT_EQ(again->works[0].id, plan.works[0].id);
  EXPECT_EQ(again->works[0].unit, "press-1");
  EXPECT_EQ(again->works[0].helpers, plan.works[0].helpers);
  EXPECT_EQ(again->works[0].start_s, -60);
  EXPECT_EQ(again->works[0].end_s, 3600);
  EXPECT_EQ(again->works[1].unit, "");
}

TEST(ShopPlanJson, RefusesOtherTextsByPath) {
  EXPECT_FALSE(read_shop_plan("{"));
  EXPECT_FALSE(read_shop_plan(R"({"schema": "goodside.trace/1"})"));
  std::string torn = write(sample());
  torn.replace(torn.find("\"end_s\": 3600"), 13, "\"end_s\": -999");
  const auto again = read_shop_plan(torn);
  ASSERT_FALSE(again);
  EXPECT_NE(again.error().text.find("works[0].end_s"), std::string::npos) << again.error().text;
}

}  // namespace
}  // namespace goodside::json
