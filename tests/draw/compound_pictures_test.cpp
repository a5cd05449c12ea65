#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "draw/biscuit_plot.hpp"
#include "draw/mix_plot.hpp"
#include "draw/work_papers.hpp"

namespace goodside::draw {
namespace {

using testing::Contains;
using testing::Field;
using testing::HasSubstr;

/// A sheet of so many ingredients, with names as long as people make them.
works::MixReport sheet_of(int count) {
  works::MixReport report;
  report.recipe.name = "A recipe with a name that nobody would call short, second trial";
  for (int i = 0; i < count; ++i) {
    works::Ingredient one;
    one.name = i % 3 == 0 ? fmt::format("extraction resin of pine, dark, number {}", i)
                          : fmt::format("chalk {}", i);
    one.fraction = 1.0 / count;
    report.recipe.ingredients.push_back(one);
    works::WeighLine line;
    line.ingredient = one.name;
    line.lot = i % 2 == 0 ? "L-7781-2026-11" : "";
    line.scale = "floor";
    line.hazard = i % 4 == 0 ? "dust burns" : "";
    line.charge = 1 + i / 5;
    line.fraction = one.fraction;
    line.volume_fraction = 1.4 / count;
    line.target_kg = line.weigh_kg = 60.0 / count;
    line.tolerance_kg = 0.02;
    report.weigh_up.lines.push_back(line);
  }
  report.weigh_up.batch_kg = 60.0;
  report.weigh_up.volume_m3 = 0.03;
  report.weigh_up.fill = 0.65;
  report.mixture.density_kg_per_m3 = 2000.0;
  report.cautions = {
      "Resin dust burns and can explode: extraction, earthed vessels, no flame, no compressed air.",
      "Local codes, safety sheets and licensed practice decide; this sheet does not."};
  works::MixerHeat heat;
  heat.to_K = 383.15;
  heat.time_s = 200.0;
  report.heat = heat;
  return report;
}

works::MixReport weighed(int count) {
  auto report = sheet_of(count);
  report.correction = works::Correction{};
  report.correction->kind = works::Correction::Kind::restores;
  report.correction->add_kg = 1.3;
  for (int i = 0; i < count; ++i) {
    const auto at = static_cast<std::size_t>(i);
    works::Deviation one;
    one.ingredient = report.recipe.ingredients[at].name;
    one.target_kg = 60.0 / count;
    one.tolerance_kg = 0.02;
    if (i != 1) {
      one.weighed_kg = one.target_kg + 0.01 * i;
      one.off_kg = 0.01 * i;
      one.share_of_tolerance = 0.5 * i;
      one.is_out = one.share_of_tolerance > 1.0;
    }
    report.deviations.push_back(one);
    report.correction->lines.push_back({.ingredient = one.ingredient,
                                        .add_kg = 0.1,
                                        .add_weighed_kg = 0.1,
                                        .final_fraction = 1.01 / count,
                                        .share_of_tolerance = 0.8});
  }
  return report;
}

PlotOptions dated() {
  PlotOptions options;
  options.date = "2026-11-26";
  return options;
}

void expect_no_two_meet(const std::vector<PlacedText>& texts, double width, double height) {
  for (std::size_t i = 0; i < texts.size(); ++i) {
    const Box& box = texts[i].box;
    EXPECT_TRUE(box.x >= 0.0 && box.y >= 0.0 && box.x + box.width <= width &&
                box.y + box.height <= height)
        << texts[i].text;
    for (std::size_t j = 0; j < i; ++j)
      EXPECT_FALSE(box.meets(texts[j].box)) << texts[i].text << " / " << texts[j].text;
  }
}

TEST(MixPlot, NoTextTouchesAnotherOrLeavesThePage) {
  for (const int count : {1, 7, 24})
    for (const auto& report : {sheet_of(count), weighed(count)}) {
      const auto texts = mix_plot_texts(report, dated());
      ASSERT_TRUE(texts) << texts.error().text;
      expect_no_two_meet(*texts, plot_width, 1000.0);
    }
}

TEST(MixPlot, SaysWhatIsOutAndWhatToAdd) {
  const auto texts = mix_plot_texts(weighed(7), dated());
  EXPECT_THAT(*texts, Contains(Field(&PlacedText::text, HasSubstr("add 1.3 kg"))));
  EXPECT_THAT(*texts, Contains(Field(&PlacedText::text, "not weighed yet")));
  EXPECT_THAT(*texts, Contains(Field(&PlacedText::text, "after the addition")));
}

std::vector<std::vector<PlacedText>> weigh_sheets(int count) {
  const auto drawn =
      draw_paper(weigh_up_sheet(weigh_up_of(sheet_of(count)), {.date = "2026-11-26"}),
                 PictureFormat::pdf,
                 Paper{210.0, 297.0});
  return drawn ? drawn->sheets : std::vector<std::vector<PlacedText>>{};
}

TEST(WeighSheet, NoTextTouchesAnotherOrLeavesThePaper) {
  for (const int count : {3, 15, 30})
    for (const auto& texts : weigh_sheets(count)) expect_no_two_meet(texts, 210.0, 297.0);
  const auto sheets = weigh_sheets(8);
  ASSERT_EQ(sheets.size(), 1u);
  EXPECT_THAT(sheets[0], Contains(Field(&PlacedText::text, HasSubstr("licensed practice"))));
  EXPECT_THAT(sheets[0], Contains(Field(&PlacedText::text, HasSubstr("dust burns"))));
}

TEST(WeighSheet, TakesASecondSheetForManyIngredients) {
  const auto sheets = weigh_sheets(30);
  ASSERT_EQ(sheets.size(), 2u);
  EXPECT_THAT(sheets[1], Contains(Field(&PlacedText::text, "Weigh-up sheet")));
  EXPECT_THAT(sheets[1], Contains(Field(&PlacedText::text, "chalk 29")));
  EXPECT_THAT(sheets[1], testing::Not(Contains(Field(&PlacedText::text, "chalk 1"))));
}

works::BiscuitReport cut(bool is_weighed) {
  works::BiscuitReport report;
  report.disc_kg = 0.168;
  report.short_below_kg = 0.16968;
  report.thick_above_kg = 0.18816;
  works::BiscuitScatter now{
      .mean_kg = 0.1798, .sigma_kg = 0.002, .sigma_low_kg = {}, .sigma_high_kg = {}, .outside = {}};
  now.count = is_weighed ? 10 : 0;
  report.now = report.aimed = now;
  report.aimed->mean_kg = is_weighed ? 0.1759 : 0.1798;
  report.aim_kg = report.aimed->mean_kg;
  if (is_weighed)
    report.request.weighed_kg = {
        0.1782, 0.1791, 0.1804, 0.1810, 0.1796, 0.1802, 0.1789, 0.1808, 0.1799, 0.1805};
  return report;
}

TEST(BiscuitPlot, NoTextTouchesAnotherOrLeavesThePage) {
  for (const bool is_weighed : {false, true}) {
    const auto texts = biscuit_plot_texts(cut(is_weighed), dated());
    ASSERT_TRUE(texts) << texts.error().text;
    expect_no_two_meet(*texts, plot_width, plot_height);
    EXPECT_THAT(*texts, Contains(Field(&PlacedText::text, "short fill below")));
  }
}

TEST(BiscuitPlot, RefusesWhereNoScatterIsKnown) {
  auto report = cut(false);
  report.now.reset();
  EXPECT_FALSE(biscuit_plot(report, dated()));
}

}  // namespace
}  // namespace goodside::draw
