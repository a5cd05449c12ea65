#include "draw/finder_sheet.hpp"

#include <gtest/gtest.h>
#include <zlib.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <regex>
#include <set>
#include <sstream>

#include "draw/sample_reports.hpp"

namespace goodside::draw {
namespace {

/// One tick at 1:00.9, 33 1/2 turns: groove angle 180 degrees, radius 141.98 mm.
works::ListeningReport one_tick(double angle_deg, double radius_m) {
  auto report = samples::clean_lp();
  report.faults = {samples::fault(1, works::FaultKind::tick, 60.9, -10.0)};
  report.faults[0].angle_deg = angle_deg;
  report.faults[0].radius_m = radius_m;
  return report;
}

works::ListeningReport single() {
  auto report = one_tick(90.0, 0.080);
  report.geometry.format = "7in-45";
  report.geometry.rpm = 45.0;
  report.geometry.outer_radius_m = 0.08415;
  report.geometry.inner_radius_m = 0.054;
  return report;
}

/// The content streams of a PDF, inflated.
std::string pdf_content(const std::string& pdf) {
  std::string all;
  for (std::size_t at = 0; (at = pdf.find("stream\n", at)) != std::string::npos;) {
    if (at >= 3 && pdf.compare(at - 3, 3, "end") == 0) {
      at += 7;
      continue;
    }
    at += 7;
    const std::size_t end = pdf.find("endstream", at);
    std::string out(4U << 20, '\0');
    z_stream z{};
    EXPECT_EQ(inflateInit(&z), Z_OK);
    std::string in = pdf.substr(at, end - at);
    z.next_in = reinterpret_cast<Bytef*>(in.data());
    z.avail_in = static_cast<uInt>(in.size());
    z.next_out = reinterpret_cast<Bytef*>(out.data());
    z.avail_out = static_cast<uInt>(out.size());
    if (inflate(&z, Z_FINISH) == Z_STREAM_END) all += out.substr(0, z.total_out) + "\n";
    inflateEnd(&z);
    at = end;
  }
  return all;
}

struct Lengths {
  int across{}, up{};  ///< lines of 100 mm
};

/// Straight lines of two points that are 100 mm long to 0.01 mm, where a unit is `mm` long.
Lengths bars_in(const std::string& text, const std::regex& line, double mm) {
  Lengths found;
  for (std::sregex_iterator it{text.begin(), text.end(), line}, end; it != end; ++it) {
    const double dx = (std::stod((*it)[3]) - std::stod((*it)[1])) * mm,
                 dy = (std::stod((*it)[4]) - std::stod((*it)[2])) * mm;
    if (std::abs(std::abs(dx) - 100.0) < 0.01 && std::abs(dy) < 1e-3) ++found.across;
    if (std::abs(std::abs(dy) - 100.0) < 0.01 && std::abs(dx) < 1e-3) ++found.up;
  }
  return found;
}

// Published: a PDF unit is 1/72 in (ISO 32000-1, 8.3.2.3), an inch 25.4 mm; an SVG of width W mm whose viewBox is W
// wide has millimetres as units (SVG 1.1, 7.2 and 7.10).
TEST(FinderSheet, AHundredMillimetresAreAHundredMillimetres) {
  for (const Paper& paper : {a4_paper, letter_paper}) {
    const auto pdf =
        finder_sheet(one_tick(10.0, 0.12), {.format = PictureFormat::pdf, .paper = paper}).value();
    std::smatch box;
    const std::regex media{R"(/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \])"};
    ASSERT_TRUE(std::regex_search(pdf, box, media));
    EXPECT_NEAR(std::stod(box[1]) * 25.4 / 72.0, paper.width_mm, 0.01);
    EXPECT_NEAR(std::stod(box[2]) * 25.4 / 72.0, paper.height_mm, 0.01);
    const std::string content = pdf_content(pdf);
    // Flipped, not scaled.
    EXPECT_NE(content.find("1 0 0 -1 0 "), std::string::npos) << content.substr(0, 200);
    const Lengths drawn = bars_in(
        content, std::regex{R"(([-0-9.]+) ([-0-9.]+) m ([-0-9.]+) ([-0-9.]+) l)"}, 25.4 / 72.0);
    EXPECT_EQ(drawn.across, 1);
    EXPECT_EQ(drawn.up, 1);

    const auto svg =
        finder_sheet(one_tick(10.0, 0.12), {.format = PictureFormat::svg, .paper = paper}).value();
    std::smatch size;
    const std::regex head{
        R"q(<svg [^>]*width="([0-9.]+)mm" height="([0-9.]+)mm" viewBox="0 0 ([0-9.]+) ([0-9.]+)")q"};
    ASSERT_TRUE(std::regex_search(svg, size, head)) << svg.substr(0, 300);
    EXPECT_NEAR(std::stod(size[1]), paper.width_mm, 1e-6);
    EXPECT_NEAR(std::stod(size[2]), paper.height_mm, 1e-6);
    EXPECT_EQ(size[1], size[3]);
    EXPECT_EQ(size[2], size[4]);
    const Lengths svg_drawn =
        bars_in(svg, std::regex{R"(M ([-0-9.]+) ([-0-9.]+) L ([-0-9.]+) ([-0-9.]+))"}, 1.0);
    EXPECT_EQ(svg_drawn.across, 1);
    EXPECT_EQ(svg_drawn.up, 1);
  }
}

// By hand. A disc turns clockwise under the stylus: the stylus moves counter-clockwise over it, so that a fault 90
// degrees after programme start lies a quarter turn to the left of it, seen from the hole. On the stamper, its
// mirror image, it lies to the right. The worst fault is straight above the hole.
TEST(FinderSheet, LiesAsOnTheDiscAndMirroredOnTheStamper) {
  const auto report = one_tick(90.0, 0.12);
  for (const View view : {View::disc, View::mother, View::stamper, View::father}) {
    const auto sheets = plan_finder(report, {.view = view});
    ASSERT_EQ(sheets.size(), 1U);
    const FinderSheet& sheet = sheets[0];
    ASSERT_EQ(sheet.places.size(), 1U);
    const Point hole = sheet.view.centre, fault = sheet.places[0].at;
    EXPECT_NEAR(fault.x, hole.x, 1e-9);
    EXPECT_NEAR(hole.y - fault.y, 120.0, 1e-9);
    // Programme start, 90 degrees before it: to the right of the fault on a disc, to the left on a stamper.
    const Point start = sheet.view.place(0.12, 0.0);
    EXPECT_NEAR(start.x - hole.x, is_mirrored(view) ? -120.0 : 120.0, 1e-9);
    EXPECT_NEAR(start.y, hole.y, 1e-9);
  }
}

// Property: the paper mirrored left to right is the other face.
TEST(FinderSheet, TheStampersIsTheDiscsInAMirror) {
  const auto report = samples::faulty_lp();
  const auto disc = plan_finder(report, {.view = View::disc}),
             stamper = plan_finder(report, {.view = View::stamper});
  ASSERT_EQ(disc.size(), stamper.size());
  for (std::size_t s = 0; s < disc.size(); ++s) {
    ASSERT_EQ(disc[s].places.size(), stamper[s].places.size());
    for (std::size_t p = 0; p < disc[s].places.size(); ++p) {
      EXPECT_NEAR(
          disc[s].places[p].at.x + stamper[s].places[p].at.x, 2.0 * disc[s].view.centre.x, 1e-9);
      EXPECT_NEAR(disc[s].places[p].at.y, stamper[s].places[p].at.y, 1e-9);
      EXPECT_EQ(disc[s].places[p].ranks, stamper[s].places[p].ranks);
    }
  }
}

// By hand: 120 mm on the disc was 120/(1 - 0.005) = 120.603 mm on the metal.
TEST(FinderSheet, AllowsForShrinkageOnMetalAlone) {
  const auto report = one_tick(45.0, 0.12);
  const auto radius_mm = [&](View view) {
    const auto sheet = plan_finder(report, {.view = view, .shrinkage = 0.005}).at(0);
    return sheet.view.centre.y - sheet.places.at(0).at.y;
  };
  EXPECT_NEAR(radius_mm(View::disc), 120.0, 1e-9);
  EXPECT_NEAR(radius_mm(View::stamper), 120.603, 5e-4);
}

TEST(FinderSheet, HoldsHoleAndFaultOnEverySheetOfEverySize) {
  for (const Paper& paper : {a4_paper, letter_paper})
    for (const auto& report : {samples::faulty_lp(), samples::crackling_78(), single()}) {
      std::set<std::size_t> shown;
      for (const FinderSheet& sheet : plan_finder(report, {.paper = paper})) {
        const auto inside = [&](Point at) {
          return at.x > sheet.drawing.x && at.x < sheet.drawing.x + sheet.drawing.width &&
                 at.y > sheet.drawing.y && at.y < sheet.drawing.y + sheet.drawing.height;
        };
        // The hole and 40 mm all about it: the label and what is written inside the last groove.
        for (const double angle : {0.0, 90.0, 180.0, 270.0})
          EXPECT_TRUE(inside(sheet.view.place(0.040, angle)));
        EXPECT_FALSE(sheet.places.empty());
        for (const FinderPlace& place : sheet.places) {
          EXPECT_TRUE(inside(place.at));
          for (const std::size_t rank : place.ranks)
            EXPECT_TRUE(shown.insert(rank).second) << "twice: " << rank;
        }
      }
      EXPECT_TRUE(shown.contains(0)) << "the worst";
    }
}

TEST(FinderSheet, NoTextTouchesAnotherOrLeavesThePaper) {
  auto clean = samples::clean_lp();
  clean.faults.clear();
  for (const Paper& paper : {a4_paper, letter_paper})
    for (const View view : {View::disc, View::stamper})
      for (const std::string landmark : {"", "matrix number"})
        for (const auto& report :
             {samples::faulty_lp(), samples::crackling_78(), single(), clean}) {
          const auto sheets = finder_texts(report,
                                           {.view = view,
                                            .paper = paper,
                                            .shrinkage = 0.004,
                                            .landmark_angle_deg = 133.0,
                                            .landmark = landmark,
                                            .title = "Tarnholt Waltz, side A",
                                            .date = "2026-11-25"})
                                  .value();
          for (const auto& texts : sheets)
            for (std::size_t i = 0; i < texts.size(); ++i) {
              const Box& box = texts[i].box;
              EXPECT_TRUE(box.x >= 5.0 && box.y >= 5.0 &&
                          box.x + box.width <= paper.width_mm - 5.0 &&
                          box.y + box.height <= paper.height_mm - 5.0)
                  << texts[i].text;
              for (std::size_t j = 0; j < i; ++j)
                EXPECT_FALSE(box.meets(texts[j].box)) << texts[i].text << " / " << texts[j].text;
            }
        }
}

std::string joined(const std::vector<PlacedText>& texts) {
  std::string all;
  for (const auto& placed : texts) all += placed.text + "\n";
  return all;
}

TEST(FinderSheet, CautionsWhereMetalIsHandled) {
  const auto text = [](View view) {
    return joined(finder_texts(one_tick(10.0, 0.12), {.view = view}).value().at(0));
  };
  for (const View metal : {View::mother, View::stamper, View::father}) {
    EXPECT_NE(text(metal).find("gloves"), std::string::npos);
    EXPECT_NE(text(metal).find("own rules"), std::string::npos);
  }
  EXPECT_EQ(text(View::disc).find("gloves"), std::string::npos);
  EXPECT_NE(text(View::stamper).find("mirrored"), std::string::npos);
}

// By hand: a fault at 10 degrees is 360 + 10 - 133 = 237 degrees from a landmark at 133.
TEST(FinderSheet, CountsAnglesFromTheLandmark) {
  const auto texts = finder_texts(one_tick(10.0, 0.12),
                                  {.landmark_angle_deg = 133.0, .landmark = "matrix number"});
  EXPECT_NE(joined(texts.value().at(0)).find("\n237°\n"), std::string::npos);
  EXPECT_NE(joined(texts.value().at(0)).find("\nmatrix number\n"), std::string::npos);
}

TEST(FinderSheet, SaysWhereTheOtherSheetsAreWhenTheFormatHoldsOne) {
  const auto sheets = [](PictureFormat format) {
    return finder_texts(samples::faulty_lp(), {.format = format}).value();
  };
  EXPECT_GT(sheets(PictureFormat::pdf).size(), 1U);
  ASSERT_EQ(sheets(PictureFormat::svg).size(), 1U);
  EXPECT_NE(joined(sheets(PictureFormat::svg)[0]).find("the others: PDF"), std::string::npos);
  EXPECT_EQ(joined(sheets(PictureFormat::pdf)[0]).find("the others"), std::string::npos);
}

TEST(FinderSheet, SaysThatThereIsNothingToFind) {
  auto report = samples::clean_lp();
  report.faults.clear();
  EXPECT_NE(joined(finder_texts(report, {}).value().at(0)).find("No fault"), std::string::npos);
  EXPECT_TRUE(finder_sheet(report, {}));
}

// Only black and white leave the pen: a copier keeps both.
TEST(FinderSheet, IsBlackOnWhite) {
  const auto svg =
      finder_sheet(samples::faulty_lp(), {.view = View::stamper, .format = PictureFormat::svg})
          .value();
  const std::regex colours{R"(rgb\(([0-9.]+)%, ?([0-9.]+)%, ?([0-9.]+)%\))"};
  int seen = 0;
  for (std::sregex_iterator it{svg.begin(), svg.end(), colours}, end; it != end; ++it, ++seen)
    for (std::size_t c = 1; c <= 3; ++c) {
      const double share = std::stod((*it)[c]);
      EXPECT_TRUE(share == 0.0 || share == 100.0) << (*it)[0];
    }
  EXPECT_GT(seen, 10);
}

TEST(FinderSheet, ComesOutTheSameTwiceAndRefusesAPng) {
  for (const auto format : {PictureFormat::pdf, PictureFormat::svg})
    EXPECT_TRUE(finder_sheet(samples::faulty_lp(), {.format = format}).value() ==
                finder_sheet(samples::faulty_lp(), {.format = format}).value());
  EXPECT_EQ(finder_sheet(samples::faulty_lp(), {.format = PictureFormat::png}).error().fault,
            Fault::out_of_range);
  EXPECT_EQ(finder_sheet(samples::faulty_lp(), {.shrinkage = 0.3}).error().fault,
            Fault::out_of_range);
}

}  // namespace
}  // namespace goodside::draw
