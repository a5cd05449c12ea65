#include "draw/shop_plot.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace goodside::draw {
namespace {

works::ShopPlan sample() {
  works::ShopPlan plan;
  plan.name = "a works";
  plan.now_s = 20783LL * 86400;
  for (int k = 0; k < 3; ++k) {
    works::PlannedOrder order;
    order.id = "O-" + std::to_string(k + 1);
    order.due_s = (k + 2) * 86400;
    order.end_s = k == 1 ? 5 * 86400 : 86400;
    plan.orders.push_back(order);
    works::PlannedWork work;
    work.id = order.id + " run";
    work.order = order.id;
    work.station = "press";
    work.unit = "press-" + std::to_string(k + 1);
    work.start_s = 3600;
    work.end_s = order.end_s;
    work.change_s = 1800;
    plan.works.push_back(work);
  }
  plan.plan.end_s = 5 * 86400;
  return plan;
}

bool holds(const std::vector<PlacedText>& texts, const std::string& text) {
  return std::any_of(texts.begin(), texts.end(), [&](const auto& one) { return one.text == text; });
}

TEST(ShopPlanPlot, NamesMachinesDaysAndTheLateOrderWithoutOverlap) {
  const auto texts = shop_plan_texts(sample(), {});
  ASSERT_TRUE(texts) << texts.error().text;
  for (const char* text : {"The plan: 1 of 3 orders late", "press-1", "press-3", "11-26", "O-2"})
    EXPECT_TRUE(holds(*texts, text)) << text;
  for (std::size_t i = 0; i < texts->size(); ++i)
    for (std::size_t k = 0; k < i; ++k)
      EXPECT_FALSE((*texts)[i].box.meets((*texts)[k].box))
          << (*texts)[i].text << " / " << (*texts)[k].text;
}

TEST(ShopPlanPlot, RefusesAnEmptyPlan) {
  EXPECT_FALSE(shop_plan_plot({}, {}));
  EXPECT_FALSE(promise_plot({}, {}));
}

TEST(PromisePlot, NamesTheLeastSureFirst) {
  works::PlanPromise promise;
  promise.now_s = 20783LL * 86400;
  promise.replays = 100;
  for (int k = 0; k < 20; ++k) {
    works::PromisedOrder order;
    order.id = "O-" + std::to_string(k + 1);
    order.due_s = 5 * 86400;
    order.on_time = 1.0 - 0.04 * k;
    for (int p = 0; p <= 100; ++p) order.curve_s.push_back(3 * 86400 + p * 3000);
    order.half_s = order.curve_s[50];
    order.ninety_s = order.curve_s[90];
    order.ninety_five_s = order.curve_s[95];
    promise.orders.push_back(order);
  }
  const auto texts = promise_texts(promise, {});
  ASSERT_TRUE(texts);
  EXPECT_TRUE(holds(*texts, "O-20"));
  EXPECT_FALSE(holds(*texts, "O-1"));
  const auto svg = promise_plot(promise, {.format = PictureFormat::svg});
  ASSERT_TRUE(svg);
  EXPECT_NE(svg->find("<svg"), std::string::npos);
}

}  // namespace
}  // namespace goodside::draw
