#include "cli/summary.hpp"

#include <gtest/gtest.h>

#include <sstream>

#include "cli/wrap.hpp"
#include "draw/sample_reports.hpp"

namespace goodside::cli {
namespace {

using draw::samples::clean_lp;
using draw::samples::crackling_78;
using draw::samples::faulty_lp;
using draw::samples::without_cut;
using draw::samples::wrong_title;

TEST(Summary, SaysTheVerdictFirstAndWhatToDoLast) {
  EXPECT_EQ(summary(clean_lp(), false),
            "● Within limits  clean.wav against cut.wav, 12in-33\n"
            "\n"
            "  heard   0:00 to 20:00 of 20:00\n"
            "  speed   +0.018 %\n"
            "  offset  0.031 ± 0.004 mm towards 215°, as seated, arm not corrected\n"
            "  noise   -62.3 dB\n"
            "  limits  12in-33\n"
            "\n"
            "Next: nothing to do for this side; hear the next sample when it is "
            "due.\n");
}

TEST(Summary, ListsAtMostTenFaultsWorstFirstWithTheirFiguresAligned) {
  const std::string text = summary(faulty_lp(), false);
  EXPECT_TRUE(text.starts_with("▲ Outside limits  faulty side with a rather long name.wav"));
  EXPECT_NE(text.find("\n27 plain and 52 slight faults, the 10 worst:\n"
                      "            time     radius  angle  kind          peak  heard\n"
                      "   1    8:10.200   113.3 mm   120°  repeat    -10.0 dB  plain\n"
                      "   2    9:11.900   109.2 mm   220°  jump      -11.0 dB  plain\n"),
            std::string::npos)
      << text;
  EXPECT_NE(text.find("\n  10    "), std::string::npos) << text;
  EXPECT_EQ(text.find("\n  11    "), std::string::npos) << text;
  EXPECT_NE(text.find("Next: look at the groove at 8:10.200 (113.3 mm, 120°)"), std::string::npos);
}

TEST(Summary, StaysWithinEightyColumns) {
  for (const auto& report :
       {clean_lp(), faulty_lp(), crackling_78(), wrong_title(), without_cut()}) {
    std::istringstream lines{summary(report, false)};
    for (std::string line; std::getline(lines, line);) EXPECT_LE(columns(line), line_width) << line;
  }
}

TEST(Summary, SaysWhatIsUnknownInOneLine) {
  auto report = clean_lp();
  report.undetermined = {{"noise.rumble_dB", "too short"}};
  EXPECT_NE(summary(report, false).find("\n  unknown noise.rumble_dB: too short\n"),
            std::string::npos);
  for (int i = 0; i < 9; ++i) report.undetermined.push_back({"wow.eccentricity_m", "few turns"});
  const std::string text = summary(report, false);
  EXPECT_NE(text.find("\n  unknown noise.rumble_dB, wow.eccentricity_m, "), std::string::npos)
      << text;
  std::istringstream lines{text};
  for (std::string line; std::getline(lines, line);) EXPECT_LE(columns(line), line_width) << line;
}

TEST(Summary, AWrongTitleSaysSoAndGivesNoPlaces) {
  EXPECT_EQ(summary(wrong_title(), false),
            "▲ Not this cut  clean.wav against cut.wav, 12in-33\n"
            "  - The capture does not hold the reference's programme\n"
            "\n"
            "Next: wrong title or side: check ticket, label and matrix number "
            "against the\n"
            "      order.\n");
}

TEST(Summary, ColoursTheVerdictAloneAndOnlyWhenAsked) {
  EXPECT_EQ(summary(faulty_lp(), false).find('\x1b'), std::string::npos);
  const std::string text = summary(faulty_lp(), true);
  EXPECT_TRUE(text.starts_with("\x1b[1;33m▲ Outside limits\x1b[0m"));
  EXPECT_EQ(text.rfind('\x1b'), text.find("\x1b[0m"));
}

TEST(NextAct, FollowsTheRuleThatWasBroken) {
  auto report = clean_lp();
  report.verdict.pass = false;
  report.verdict.reasons = {{"eccentricity_m", 3e-4, 2e-4, ""}};
  EXPECT_TRUE(next_act(report).starts_with("reseat the disc"));
  report.verdict.reasons = {{"hum_dB", -40.0, -50.0, ""}};
  EXPECT_TRUE(next_act(report).starts_with("hear a known quiet disc"));
  report.verdict.reasons = {{"plain_faults_per_side", 1.0, 0.0, ""}};
  report.faults = {draw::samples::fault(1, works::FaultKind::tick, 83.456, -9.0)};
  EXPECT_TRUE(next_act(report).starts_with("brush the disc and hear 1:23.456 ("))
      << next_act(report);
  EXPECT_NE(next_act(without_cut()).find("--reference"), std::string::npos);
}

TEST(Table, PutsOneBadFileInItsLineAndCountsTheRest) {
  const std::string text = table({{"in/clean.wav", clean_lp()},
                                  {"in/faulty.wav", faulty_lp()},
                                  {"in/empty.wav",
                                   Error{Fault::bad_input,
                                         "in/empty.wav: empty (0 bytes); check that the recorder "
                                         "was running and capture it again"}}},
                                 false);
  EXPECT_EQ(text,
            "2 heard: 1 within limits, 1 outside; 1 cannot be used\n"
            "\n"
            "capture                   verdict    plain  slight  offset mm  worst "
            "fault\n"
            "clean.wav                 ● within       0       0      0.031  -\n"
            "faulty.wav                ▲ outside     27      52      0.212  repeat "
            "8:10.200\n"
            "empty.wav                 ■ cannot be used: empty (0 bytes); check that the\n"
            "                            recorder was running and capture it again\n"
            "\n"
            "Next: faulty.wav: look at the groove at 8:10.200 (113.3 mm, 120°) under "
            "the\n"
            "      microscope, then hear a sister disc of the same stamper there.\n");
}

}  // namespace
}  // namespace goodside::cli
