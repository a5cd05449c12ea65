#include "draw/report_page.hpp"

#include <gtest/gtest.h>

#include <regex>

#include "draw/html.hpp"
#include "draw/page_style.hpp"
#include "draw/sample_reports.hpp"

namespace goodside::draw {
namespace {

std::vector<FaultSound> one_sound(std::size_t fault, const std::string& bytes) {
  FaultSound sound;
  sound.fault = fault;
  sound.from_s = 10.0;
  sound.to_s = 12.0;
  sound.channel = "left";
  sound.capture = sound.cut = sound.difference = bytes;
  return {sound};
}

std::string page(const works::ListeningReport& report, const PageOptions& options) {
  return report_page(report, options).value();
}

PageOptions with(std::vector<FaultSound> sounds) {
  PageOptions options;
  options.sounds = std::move(sounds);
  return options;
}

std::string page(const works::ListeningReport& report) {
  const PageOptions options;
  return page(report, options);
}

// Published: RFC 4648, section 10, test vectors of base64.
TEST(Html, CodesBase64AsThePublishedVectors) {
  EXPECT_EQ(html::data_uri("a/b", ""), "data:a/b;base64,");
  EXPECT_EQ(html::data_uri("a/b", "f"), "data:a/b;base64,Zg==");
  EXPECT_EQ(html::data_uri("a/b", "foobar"), "data:a/b;base64,Zm9vYmFy");
}

TEST(Html, EscapesWhatWouldBeMarkup) {
  EXPECT_EQ(html::escaped("a<b>&\"c'"), "a&lt;b&gt;&amp;&quot;c&apos;");
  EXPECT_EQ(html::escaped(std::string{"a\x01"} + "\x7f"
                                                 "b"),
            "a  b");
  EXPECT_EQ(html::escaped("\xff"
                          "x"),
            "\xEF\xBF\xBDx");  // U+FFFD
  EXPECT_EQ(html::escaped("33⅓ °"), "33⅓ °");
}

TEST(ReportPage, LetsNoTextOfOthersBecomeMarkup) {
  const std::string evil = "<script>alert('x')</script>\"&";
  auto report = samples::faulty_lp();
  report.capture.path = "captures/" + evil;
  report.reference->file.path = evil;
  report.geometry.format = evil;
  report.verdict.limits = evil;
  report.verdict.reasons[0].text = evil;
  report.remarks = {evil};
  report.undetermined = {{evil, evil}};
  report.noise.polar->reference = evil;
  report.noise.weighted_reference = evil;
  auto sounds = one_sound(0, "RIFF");
  sounds[0].channel = evil;
  PageOptions options = with(sounds);
  options.title = options.date = options.next = evil;
  const std::string text = page(report, options);
  EXPECT_EQ(text.find("<script>alert"), std::string::npos);
  EXPECT_NE(text.find("&lt;script&gt;alert(&apos;x&apos;)"), std::string::npos);
}

// Everything is in the file: nothing is asked of a network.
TEST(ReportPage, AsksForNothingOutsideItself) {
  const std::string text = page(samples::faulty_lp(), with(one_sound(0, "RIFF")));
  const std::regex asks{R"q((?:src|href|srcset|action|data)="([^"]{0,24}))q"};
  int found = 0;
  for (std::sregex_iterator it{text.begin(), text.end(), asks}, end; it != end; ++it, ++found)
    EXPECT_TRUE((*it)[1].str().starts_with("data:")) << (*it)[1];
  EXPECT_EQ(found, 3 * 2 + 3);
  EXPECT_EQ(text.find("@import"), std::string::npos);
  EXPECT_EQ(text.find("url("), std::string::npos);
  EXPECT_NE(text.find("default-src 'none'"), std::string::npos);
}

TEST(ReportPage, PutsTheVerdictFirstAndThenTheReasonsAndTheNextAct) {
  PageOptions options;
  options.next = "Hold the run.";
  const std::string text = page(samples::faulty_lp(), options);
  const std::size_t verdict = text.find("<span>Outside limits</span>"),
                    reason = text.find("the stylus left the groove 2 times"),
                    next = text.find("Hold the run."), portrait = text.find("<h2>The disc</h2>"),
                    faults = text.find("<h2>Faults</h2>"), wow = text.find("<h2>Wow</h2>"),
                    levels = text.find("<h2>Levels</h2>");
  EXPECT_LT(verdict, reason);
  EXPECT_LT(reason, next);
  EXPECT_LT(next, portrait);
  EXPECT_LT(portrait, faults);
  EXPECT_LT(faults, wow);
  EXPECT_LT(wow, levels);
  EXPECT_NE(levels, std::string::npos);
}

TEST(ReportPage, GivesEveryPictureADescriptionAndItsFigures) {
  auto report = samples::faulty_lp();
  report.wow.curve = {{1.0, 1.02, 1.04}, {0.001, -0.002, 0.0}};
  report.levels.third_octave = {{1000.0, -6.0, -6.1}, {2000.0, -6.2, -6.0}};
  const std::string text = page(report);
  const auto count = [&](const std::string& what) {
    std::size_t found = 0;
    for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; ++at) ++found;
    return found;
  };
  EXPECT_EQ(count("<img "), 3U);
  EXPECT_EQ(count(" alt=\"\""), 0U);
  EXPECT_EQ(count("<summary>Figures of this picture</summary>"), 3U);
  EXPECT_NE(text.find("-0.2000"), std::string::npos);  // the curve's least, %
}

TEST(ReportPage, ListsEveryFaultWorstFirst) {
  const auto report = samples::faulty_lp();
  const std::string text = page(report);
  std::size_t rows = 0;
  for (std::size_t at = text.find("<h2>Faults</h2>"), end = text.find("<h2>Wow</h2>");
       (at = text.find("<tr><td>", at)) < end;
       ++at)
    ++rows;
  EXPECT_EQ(rows, report.faults.size());
}

TEST(ReportPage, SaysWhatItIsForAWrongTitleAndWithoutACut) {
  const std::string wrong = page(samples::wrong_title(), with(one_sound(0, "RIFF")));
  EXPECT_NE(wrong.find("<span>Not this cut</span>"), std::string::npos);
  EXPECT_EQ(wrong.find("<audio"), std::string::npos);
  auto alone = samples::without_cut();
  alone.faults = {samples::fault(1, works::FaultKind::tick, 3.0, -10.0)};
  auto sounds = one_sound(0, "RIFF");
  sounds[0].cut.clear();
  sounds[0].difference.clear();
  const std::string heard = page(alone, with(sounds));
  EXPECT_NE(heard.find("Without a cut there is no difference"), std::string::npos);
  EXPECT_NE(heard.find("<audio"), std::string::npos);
}

// Four sounds of two seconds at 48 kHz, 16 bits, thrice: 2.3 MB, a third more as text; and a side full of crackle.
TEST(ReportPage, StaysUnderFiveMegabytes) {
  auto report = samples::crackling_78();
  for (int i = 0; i < 3000; ++i) {
    report.faults.push_back(report.faults[static_cast<std::size_t>(i % 900)]);
    report.faults.back().id = 1000 + i;
  }
  report.noise.polar = samples::noise_map(28, 72);
  for (int i = 0; i < 20000; ++i) {
    report.wow.curve.time_s.push_back(0.06 * i);
    report.wow.curve.deviation.push_back(0.002 * ((i * 7919) % 1000 - 500) / 500.0);
  }
  std::vector<FaultSound> sounds;
  for (std::size_t i = 0; i < 4; ++i) sounds.push_back(one_sound(i, std::string(192044, 'x'))[0]);
  EXPECT_LT(page(report, with(sounds)).size(), 5000000U);
}

TEST(ReportPage, ComesOutTheSameTwice) {
  EXPECT_TRUE(page(samples::faulty_lp()) == page(samples::faulty_lp()));
}

TEST(PageStyle, HasBothPalettesAndPaper) {
  const std::string style = page_style();
  for (const char* part : {"#F6F4EF", "#16181A", "prefers-color-scheme:dark", "@media print"})
    EXPECT_NE(style.find(part), std::string::npos) << part;
}

}  // namespace
}  // namespace goodside::draw
