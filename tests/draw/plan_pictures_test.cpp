#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "draw/control_chart_plot.hpp"
#include "draw/curve_plot.hpp"

namespace goodside::draw {
namespace {

using testing::Contains;
using testing::Field;
using testing::HasSubstr;

void expect_apart(const std::vector<PlacedText>& texts) {
  for (std::size_t i = 0; i < texts.size(); ++i) {
    const Box& box = texts[i].box;
    EXPECT_TRUE(box.x >= 0.0 && box.y >= 0.0 && box.x + box.width <= plot_width &&
                box.y + box.height <= plot_height)
        << texts[i].text;
    for (std::size_t j = 0; j < i; ++j)
      EXPECT_FALSE(box.meets(texts[j].box)) << texts[i].text << " / " << texts[j].text;
  }
}

works::ControlChart chart_of(works::ChartKind kind, int points, int panels) {
  works::ControlChart chart{
      .kind = kind, .what = "biscuit mass", .unit = "g", .baseline = points / 2};
  for (int p = 0; p < panels; ++p) {
    works::ChartPanel panel{.name = p == 0 ? "values" : "moving ranges", .zones = p == 0};
    for (int i = 0; i < points; ++i) {
      works::ChartPoint point;
      point.label = "BI-0000" + std::to_string(i);
      point.value = 150.0 + std::sin(0.7 * i) + (i == points - 3 ? 4.0 : 0.0);
      point.centre = 150.0;
      point.lower = 147.0;
      point.upper = 153.0;
      point.sigma = 1.0;
      if (i == points - 3) point.rules.push_back(works::RunRule::beyond_limits);
      panel.points.push_back(point);
    }
    chart.panels.push_back(panel);
  }
  return chart;
}

TEST(ControlChartPlot, NoTextTouchesAnotherOrLeavesThePage) {
  for (const int points : {3, 25, 40, 900})
    for (const int panels : {1, 2}) {
      const auto texts = control_chart_plot_texts(
          chart_of(works::ChartKind::individuals, points, panels), {.title = "Tarnholt"});
      ASSERT_TRUE(texts);
      expect_apart(*texts);
      EXPECT_THAT(*texts, Contains(Field(&PlacedText::text, HasSubstr("biscuit mass"))));
      EXPECT_THAT(*texts, Contains(Field(&PlacedText::text, HasSubstr("upper 153"))));
    }
  EXPECT_FALSE(control_chart_plot(works::ControlChart{}, {}));
  EXPECT_FALSE(control_chart_plot(chart_of(works::ChartKind::cusum, 9, 2), {.width_px = 10}));
}

// Limits that lie close together: their figures stand apart all the same.
TEST(ControlChartPlot, FiguresOfNarrowLimitsStandApart) {
  auto chart = chart_of(works::ChartKind::individuals, 30, 1);
  for (auto& point : chart.panels[0].points) {
    point.lower = 149.99;
    point.upper = 150.01;
  }
  expect_apart(*control_chart_plot_texts(chart, {}));
}

CurvePicture picture_of(std::size_t panels) {
  CurvePicture picture{.title = "Sampling plans of one pair of risks",
                       .whose = "lot of 500",
                       .x_title = "flawed share of the lot",
                       .x_high = 0.12,
                       .x_percent = true};
  for (std::size_t p = 0; p < panels; ++p) {
    CurvePanel panel{.y_title = "chance to be shipped", .percent = p != 1};
    if (p == 1) panel.y_high = 80.0;
    for (const char* name : {"single", "double", "sequential"}) {
      Curve curve;
      curve.name = name;
      for (int i = 0; i <= 20; ++i)
        curve.points.push_back({0.006 * i, std::exp(-0.2 * i) * panel.y_high});
      panel.curves.push_back(curve);
    }
    panel.levels.push_back({0.5 * panel.y_high, "asked for", false});
    panel.levels.push_back({0.06, "chosen", true});
    picture.panels.push_back(panel);
  }
  return picture;
}

TEST(CurvePlot, NoTextTouchesAnotherOrLeavesThePage) {
  for (const std::size_t panels : {1U, 2U, 3U}) {
    const auto texts = curve_plot_texts(picture_of(panels), {});
    ASSERT_TRUE(texts);
    expect_apart(*texts);
    EXPECT_THAT(*texts, Contains(Field(&PlacedText::text, HasSubstr("sequential"))));
  }
  EXPECT_FALSE(curve_plot(picture_of(0), {}));
  auto flat = picture_of(1);
  flat.panels[0].y_high = 0.0;
  EXPECT_FALSE(curve_plot(flat, {}));
}

TEST(CurvePlot, TheSamePictureHasTheSameBytes) {
  const auto once = curve_plot(picture_of(2), {.width_px = 400}),
             again = curve_plot(picture_of(2), {.width_px = 400});
  ASSERT_TRUE(once && again);
  EXPECT_EQ(*once, *again);
}

}  // namespace
}  // namespace goodside::draw
