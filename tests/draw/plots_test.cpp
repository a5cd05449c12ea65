#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "draw/levels_plot.hpp"
#include "draw/sample_reports.hpp"
#include "draw/strip_plot.hpp"
#include "draw/wow_plot.hpp"

namespace goodside::draw {
namespace {

works::Limits lp_limits() {
  works::Limits limits;
  limits.eccentricity_m = 0.2e-3;
  limits.level_deviation_dB = 5.0;
  return limits;
}

/// A hole 0.2 mm off centre at a radius of 100 mm: 0.2 % once a turn of 1.8 s.
works::ListeningReport swinging() {
  auto report = samples::faulty_lp();
  for (int i = 0; i < 6000; ++i) {
    const double at_s = 4.2 + 0.02 * i;
    report.wow.curve.time_s.push_back(at_s);
    report.wow.curve.deviation.push_back(0.002 * std::sin(2.0 * std::numbers::pi * at_s / 1.8));
  }
  report.wow.once_per_rev_peak = works::OncePerRevPeak{0.0014, 0.0030};
  report.wow.weighted_2sigma = 0.0011;
  for (int n = -9; n <= 12; ++n)
    report.levels.third_octave.push_back(
        {1000.0 * std::pow(2.0, n / 3.0), -6.0 + 0.1 * n, -5.0 - 0.3 * n});
  report.levels.balance_dB = 0.9;
  return report;
}

PlotOptions wide(int width_px) {
  PlotOptions options;
  options.width_px = width_px;
  return options;
}

works::ListeningReport silent_on_both() {
  auto report = samples::without_cut();
  report.undetermined = {{"wow", "no cut to follow <&>"}, {"levels.third_octave", "no cut"}};
  return report;
}

std::string joined(const std::vector<PlacedText>& texts) {
  std::string all;
  for (const auto& placed : texts) all += placed.text + "\n";
  return all;
}

TEST(Plots, NoTextTouchesAnotherOrLeavesThePage) {
  auto brief = swinging();
  brief.wow.curve.time_s.resize(400);
  brief.wow.curve.deviation.resize(400);
  auto skewed = swinging();
  skewed.levels.third_octave[3].left_dB = -31.0;
  skewed.wow.curve.deviation[2000] = 0.4;
  for (const auto& report : {swinging(), brief, skewed, silent_on_both(), samples::clean_lp()})
    for (const auto& limits : {lp_limits(), works::Limits{}})
      for (const auto& drawn :
           {wow_plot_texts(report,
                           {.limits = limits, .title = "Tarnholt Waltz", .date = "2026-11-25"}),
            levels_plot_texts(report, {.limits = limits}),
            strip_plot_texts(report, {.title = "Tarnholt Waltz"})}) {
        const auto& texts = drawn.value();
        for (std::size_t i = 0; i < texts.size(); ++i) {
          const Box& box = texts[i].box;
          EXPECT_TRUE(box.x >= 0.0 && box.y >= 0.0 && box.x + box.width <= plot_width &&
                      box.y + box.height <= plot_height)
              << texts[i].text;
          for (std::size_t j = 0; j < i; ++j)
            EXPECT_FALSE(box.meets(texts[j].box)) << texts[i].text << " / " << texts[j].text;
        }
      }
}

TEST(Plots, SayWhatTheyShowWithUnitsAndLimits) {
  const std::string wow = joined(wow_plot_texts(swinging(), {.limits = lp_limits()}).value());
  EXPECT_NE(wow.find("speed deviation, %"), std::string::npos) << wow;
  EXPECT_NE(wow.find("capture time, min:s"), std::string::npos);
  EXPECT_NE(wow.find("hole 0.2 mm off centre, the limit"), std::string::npos);
  const std::string levels = joined(levels_plot_texts(swinging(), {.limits = lp_limits()}).value());
  EXPECT_NE(levels.find("Hz"), std::string::npos);
  EXPECT_NE(levels.find("limit 5 dB"), std::string::npos) << levels;
  EXPECT_NE(levels.find("balance: right +0.9 dB"), std::string::npos) << levels;
}

TEST(Plots, SayWhyThereIsNothingToShow) {
  EXPECT_NE(joined(wow_plot_texts(silent_on_both(), wide(1600)).value()).find("no cut to follow"),
            std::string::npos);
  EXPECT_NE(
      joined(levels_plot_texts(silent_on_both(), wide(1600)).value()).find("Not measured: no cut."),
      std::string::npos);
}

TEST(Plots, RefuseAWidthThatCannotBeDrawn) {
  EXPECT_EQ(wow_plot(swinging(), wide(20)).error().fault, Fault::out_of_range);
  EXPECT_EQ(levels_plot(swinging(), wide(9000)).error().fault, Fault::out_of_range);
}

TEST(Plots, ComeOutTheSameTwice) {
  for (const auto format : {PictureFormat::png, PictureFormat::svg, PictureFormat::pdf}) {
    const PlotOptions options{.format = format, .width_px = 500, .limits = lp_limits()};
    EXPECT_TRUE(wow_plot(swinging(), options).value() == wow_plot(swinging(), options).value());
    EXPECT_TRUE(levels_plot(swinging(), options).value() ==
                levels_plot(swinging(), options).value());
  }
}

// Property: spans hold every point between their ends, do not overlap and break at a gap.
TEST(WowSpans, HoldEveryPointOnce) {
  auto curve = swinging().wow.curve;
  curve.time_s.erase(curve.time_s.begin() + 1000, curve.time_s.begin() + 1500);
  curve.deviation.erase(curve.deviation.begin() + 1000, curve.deviation.begin() + 1500);
  for (const std::size_t count : {1U, 7U, 500U, 100000U}) {
    const auto spans = wow_spans(curve, count);
    ASSERT_FALSE(spans.empty());
    EXPECT_LE(spans.size(), count + 1);
    std::size_t held = 0;
    for (std::size_t s = 0; s < spans.size(); ++s) {
      if (s > 0) {
        EXPECT_GE(spans[s].from_s, spans[s - 1].to_s - 1e-9);
      }
      for (std::size_t i = 0; i < curve.time_s.size(); ++i)
        if (curve.time_s[i] >= spans[s].from_s - 1e-9 && curve.time_s[i] < spans[s].to_s - 1e-9) {
          ++held;
          EXPECT_LE(spans[s].least, curve.deviation[i]);
          EXPECT_GE(spans[s].most, curve.deviation[i]);
        }
      EXPECT_FALSE(spans[s].from_s < 24.0 && spans[s].to_s > 34.3) << "a span over the gap";
    }
    EXPECT_EQ(held, curve.time_s.size());
  }
  EXPECT_TRUE(wow_spans({}, 10).empty());
}

// By hand: bands of 250 Hz to 8 kHz alone, n = -6 .. 9: mean of -6 + 0.1 n is -5.85, of -5 - 0.3 n -5.45.
TEST(MeanLevel, LooksAtTheBandsThatAreJudged) {
  const auto bands = swinging().levels.third_octave;
  EXPECT_NEAR(mean_level_dB(bands, true).value(), -5.85, 1e-9);
  EXPECT_NEAR(mean_level_dB(bands, false).value(), -5.45, 1e-9);
  EXPECT_FALSE(mean_level_dB({{63.0, 1.0, 1.0}}, true));
}

// Published: the third-octave preferred frequencies of ISO 266 double every three bands; so do these ticks.
TEST(Axis, PlacesOctavesEvenly) {
  const Axis axis{100.0, 12800.0, {}, "", true};
  EXPECT_NEAR(axis.share(200.0) - axis.share(100.0), 1.0 / 7.0, 1e-12);
  EXPECT_NEAR(axis.share(6400.0) - axis.share(3200.0), 1.0 / 7.0, 1e-12);
}

TEST(Axis, HasRoundTicksWithinItsEnds) {
  for (const double reach : {0.021, 0.37, 4.4, 1234.0}) {
    const Axis axis = round_axis(-reach, reach, "");
    EXPECT_GE(axis.ticks.size(), 5U);
    EXPECT_LE(axis.ticks.size(), 9U);
    for (const auto& tick : axis.ticks) {
      EXPECT_LE(std::abs(tick.value), reach * (1.0 + 1e-9));
      EXPECT_NEAR(std::stod(tick.text), tick.value, 1e-6 * reach) << tick.text;
    }
  }
}

// What stands in the strip: programme time where the cut was found, capture time where it was not, and the whole of
// either; equal reports give equal bytes, other faults others.
TEST(StripPlot, IsTheSideByItsOwnClock) {
  const auto with_cut = joined(strip_plot_texts(samples::faulty_lp(), {}).value());
  EXPECT_NE(with_cut.find("programme time, min:s"), std::string::npos);
  const auto without = joined(strip_plot_texts(samples::without_cut(), {}).value());
  EXPECT_NE(without.find("capture time, min:s"), std::string::npos);
  EXPECT_NE(without.find("Noise by the turn: not measured."), std::string::npos);
  auto fewer = samples::faulty_lp();
  fewer.faults.pop_back();
  const PlotOptions options{.format = PictureFormat::svg};
  EXPECT_EQ(strip_plot(samples::faulty_lp(), options).value(),
            strip_plot(samples::faulty_lp(), options).value());
  EXPECT_NE(strip_plot(samples::faulty_lp(), options).value(), strip_plot(fewer, options).value());
  EXPECT_FALSE(strip_plot(samples::clean_lp(), wide(100)));
}

}  // namespace
}  // namespace goodside::draw
