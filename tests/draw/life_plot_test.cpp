#include "draw/life_plot.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace goodside::draw {
namespace {

using testing::Contains;
using testing::Field;
using testing::HasSubstr;

/// A law of shape 2.5 and scale 1500, bounds a quarter either way, and a curve of ten steps.
works::LifeReport worn() {
  works::LifeGroup all{.by = "all", .value = "", .stampers = 14, .ended = 10};
  for (const double share : {0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.97}) {
    const double age = 1500.0 * std::pow(-std::log1p(-share), 0.4);
    all.law.push_back({share, {.value = age, .low = 0.8 * age, .high = 1.25 * age}});
  }
  for (int i = 0; i < 10; ++i) all.curve.push_back({500.0 + 160.0 * i, 560.0 + 160.0 * i, 0.08});
  all.curve.push_back({2100.0, std::numeric_limits<double>::infinity(), 0.2});
  all.pull = works::PullLimit{.closings = 1130.0,
                              .cost_per_disc = 0.14,
                              .cost_per_disc_unpulled = 0.17,
                              .low_closings = 980.0,
                              .high_closings = 1320.0};
  return {.confidence = 0.95, .groups = {all}};
}

works::LifeReport without_law() {
  auto report = worn();
  report.groups[0].law.clear();
  report.groups[0].pull.reset();
  return report;
}

works::LifeReport open_upwards() {
  auto report = worn();
  for (auto& point : report.groups[0].law) point.closings.high.reset();
  report.groups[0].pull = works::PullLimit{};
  return report;
}

TEST(LifePlot, NoTextTouchesAnotherOrLeavesThePage) {
  for (const auto& report : {worn(), without_law(), open_upwards()}) {
    const auto texts =
        life_plot_texts(report, {.limits = {}, .title = "Tarnholt", .date = "2026-11-25"});
    ASSERT_TRUE(texts) << texts.error().text;
    for (std::size_t i = 0; i < texts->size(); ++i) {
      const Box& box = (*texts)[i].box;
      EXPECT_TRUE(box.x >= 0.0 && box.y >= 0.0 && box.x + box.width <= plot_width &&
                  box.y + box.height <= plot_height)
          << (*texts)[i].text;
      for (std::size_t j = 0; j < i; ++j)
        EXPECT_FALSE(box.meets((*texts)[j].box)) << (*texts)[i].text << " / " << (*texts)[j].text;
    }
  }
}

TEST(LifePlot, SaysWhenToPullOrThatItDoesNotPay) {
  const auto said = [](const works::LifeReport& report) {
    return *life_plot_texts(report, {.limits = {}});
  };
  EXPECT_THAT(said(worn()), Contains(Field(&PlacedText::text, HasSubstr("pull at 1100 closings"))));
  EXPECT_THAT(said(worn()), Contains(Field(&PlacedText::text, HasSubstr("14 stampers, 10 ended"))));
  EXPECT_THAT(said(open_upwards()), Contains(Field(&PlacedText::text, HasSubstr("does not pay"))));
  EXPECT_THAT(said(without_law()),
              Contains(Field(&PlacedText::text, HasSubstr("no law can be fitted"))));
}

TEST(LifePlot, RefusesWhatHasNoCurve) {
  EXPECT_EQ(life_plot({}, {.limits = {}}).error().fault, Fault::bad_input);
  EXPECT_EQ(life_plot(worn(), {.width_px = 10, .limits = {}}).error().fault, Fault::out_of_range);
}

}  // namespace
}  // namespace goodside::draw
