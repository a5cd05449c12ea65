#include "draw/portrait.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "draw/sample_reports.hpp"

namespace goodside::draw {
namespace {

struct Named {
  const char* name;
  works::ListeningReport report;
};

std::vector<Named> all_reports() {
  return {{"clean", samples::clean_lp()},
          {"faulty", samples::faulty_lp()},
          {"crackling", samples::crackling_78()},
          {"wrong title", samples::wrong_title()},
          {"without cut", samples::without_cut()}};
}

std::string all_text(const works::ListeningReport& report, const PortraitOptions& options = {}) {
  std::string text;
  const auto texts = portrait_texts(report, options);
  for (const PlacedText& placed : texts.value()) text += placed.text + "\n";
  return text;
}

TEST(Portrait, NoTextTouchesAnotherOrLeavesThePage) {
  for (const auto& [name, report] : all_reports())
    for (const View view : {View::disc, View::mother, View::stamper, View::father})
      for (const double landmark_deg : {0.0, 133.0}) {
        const auto drawn = portrait_texts(
            report,
            {.view = view,
             .shrinkage = 0.004,
             .landmark_angle_deg = landmark_deg,
             .landmark = landmark_deg == 0.0 ? "" : "matrix number",
             .title = "Tarnholt Waltz, side A, a title of some length that has to be cut somewhere",
             .date = "2026-11-25"});
        const auto& texts = drawn.value();
        for (std::size_t i = 0; i < texts.size(); ++i) {
          const Box& box = texts[i].box;
          EXPECT_TRUE(box.x >= 0.0 && box.y >= 0.0 && box.x + box.width <= 1188.0 &&
                      box.y + box.height <= 840.0)
              << name << ": " << texts[i].text;
          for (std::size_t j = 0; j < i; ++j)
            EXPECT_FALSE(box.meets(texts[j].box))
                << name << ": " << texts[i].text << " / " << texts[j].text;
        }
      }
}

TEST(Portrait, SaysTheVerdictInWords) {
  EXPECT_TRUE(
      all_text(samples::clean_lp()).starts_with("Within limits\n0 plain and 0 slight faults"));
  EXPECT_TRUE(all_text(samples::faulty_lp()).starts_with("Outside limits\n"));
  EXPECT_NE(all_text(samples::wrong_title()).find("check the ticket"), std::string::npos);
  EXPECT_NE(all_text(samples::without_cut()).find("Heard without its cut"), std::string::npos);
}

// A capture heard alone may begin anywhere: what is drawn on the disc must say so.
TEST(Portrait, PlacesOfACaptureAloneAreOnlySupposed) {
  auto report = samples::without_cut();
  EXPECT_EQ(all_text(report).find("as if the capture"), std::string::npos);
  report.patterns = {{.id = 1,
                      .kind = works::PatternKind::radial,
                      .faults = {1},
                      .first_revolution = 3,
                      .last_revolution = 5,
                      .angle_deg = 40.0,
                      .angle_span_deg = 1.0}};
  EXPECT_NE(all_text(report).find("drawn as if the capture began with the groove"),
            std::string::npos)
      << all_text(report);
}

// By hand: 45 turns of 0.1 mm at 33 1/3 rpm end after 1:21, 4.5 mm further in.
TEST(Portrait, ANarrowBandIsToldByItsEnd) {
  auto report = samples::clean_lp();
  report.geometry.pitch_m = 1e-4;
  report.geometry.inner_radius_m = 0.146 - 45.0 * 1e-4;
  EXPECT_NE(all_text(report).find("1:21  142 mm"), std::string::npos) << all_text(report);
}

TEST(Portrait, AWrongTitleShowsNoPlaces) {
  auto report = samples::wrong_title();
  report.faults = samples::faulty_lp().faults;
  const std::string text = all_text(report);
  EXPECT_NE(text.find("not laid\nover the cut"), std::string::npos);
  EXPECT_EQ(text.find(" mm"), std::string::npos);
}

// By hand: 0.13 m on the disc was 0.13/(1 - 0.004) = 0.13052 m on the metal.
TEST(Portrait, GivesTheRadiusOnTheMetalWithTheShrinkage) {
  auto report = samples::clean_lp();
  report.faults = {samples::fault(1, works::FaultKind::tick, 240.0, -10.0)};
  report.faults[0].radius_m = 0.13;
  EXPECT_NE(all_text(report, {.view = View::disc, .shrinkage = 0.004}).find("\n130.0\n"),
            std::string::npos);
  EXPECT_NE(all_text(report, {.view = View::stamper, .shrinkage = 0.004}).find("\n130.5\n"),
            std::string::npos);
}

TEST(Portrait, EveryFormatBeginsAsItShouldAndComesOutTheSameTwice) {
  const struct {
    PictureFormat format;
    std::string magic;
  } formats[] = {{PictureFormat::png, "\x89PNG\r\n"},
                 {PictureFormat::svg, "<?xml"},
                 {PictureFormat::pdf, "%PDF-"}};
  for (const auto& [format, magic] : formats) {
    const PortraitOptions options{.format = format, .width_px = 800};
    const auto once = portrait(samples::faulty_lp(), options),
               again = portrait(samples::faulty_lp(), options);
    ASSERT_TRUE(once && again);
    EXPECT_EQ(once->substr(0, magic.size()), magic);
    EXPECT_GT(once->size(), 20000U);
    EXPECT_TRUE(*once == *again) << magic;
  }
}

TEST(Portrait, RefusesWhatCannotBeDrawn) {
  EXPECT_EQ(portrait(samples::clean_lp(), {.width_px = 20}).error().fault, Fault::out_of_range);
  EXPECT_EQ(portrait(samples::clean_lp(), {.shrinkage = 0.5}).error().fault, Fault::out_of_range);
  auto report = samples::clean_lp();
  report.geometry.inner_radius_m = 0.2;
  EXPECT_EQ(portrait(report, {}).error().fault, Fault::bad_input);
}

}  // namespace
}  // namespace goodside::draw
