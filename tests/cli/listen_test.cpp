#include <gtest/gtest.h>

#include <csignal>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "cli/commands.hpp"
#include "cli/wrap.hpp"
#include "draw/sample_reports.hpp"
#include "json/disc_plays.hpp"
#include "json/listening_report.hpp"
#include "line/recordings.hpp"

namespace goodside::cli {
namespace {

struct Said {
  int status{};
  std::string out, err;
};

/// An engine that keeps its options and gives a ready report, or for a capture
/// shorter than a second an error.
struct Ready {
  works::ListeningReport report;
  listen::Options given;
  bool interrupt{};

  line::Engine engine() {
    return [this](const signal::SampleSource& capture,
                  const signal::SampleSource&,
                  const listen::Options& options,
                  const listen::Progress& progress) -> Result<works::ListeningReport> {
      given = options;
      if (interrupt) std::raise(SIGINT);
      if (!progress(0.5)) return Error{Fault::conflict, "stopped"};
      if (static_cast<double>(capture.frames()) < capture.sample_rate_Hz())
        return Error{Fault::bad_input, "shorter than 5 s; capture the whole side"};
      return report;
    };
  }
};

std::vector<std::string> wrapped_lines(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in{text};
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

class Listen : public ::testing::Test {
 protected:
  Said say(std::vector<std::string> words) {
    words.insert(words.begin(), "listen");
    std::ostringstream out, err;
    Console console{out, err, {}};
    const int status = run_line({listen_command(ready_.engine())}, words, console);
    return {status, out.str(), err.str()};
  }
  Said hear(const std::vector<std::string>& more) {
    std::vector<std::string> words{side_, "--reference", cut_, "--format", "12in-33"};
    words.insert(words.end(), more.begin(), more.end());
    return say(words);
  }
  /// One line, which names `what`; exit 2; nothing on standard output.
  void expect_refused(const Said& said, const std::string& what) {
    EXPECT_EQ(said.status, 2);
    EXPECT_EQ(said.out, "");
    EXPECT_TRUE(said.err.starts_with("goodside listen: ")) << said.err;
    EXPECT_NE(said.err.find(what), std::string::npos) << said.err;
    EXPECT_EQ(said.err.find('\n'), said.err.size() - 1) << said.err;
  }
  static std::string bytes(const std::string& path) {
    std::ostringstream whole;
    whole << std::ifstream{path, std::ios::binary}.rdbuf();
    return whole.str();
  }

  test::Folder folder_;
  std::string side_ = test::record(folder_ / "side.wav", 2.0);
  std::string cut_ = test::record(folder_ / "cut.wav", 2.0);
  Ready ready_{.report = draw::samples::clean_lp(), .given = {}};
};

TEST_F(Listen, PeersStandInForAReferenceAndExcludeOne) {
  const std::string other = test::record(folder_ / "other.wav", 3.0);
  expect_refused(hear({"--peers", other}), "exclude each other");
  expect_refused(hear({"--save-reference", folder_ / "kept.wav"}), "give peers");
  expect_refused(say({side_, "--peers", other, "--format", "12in-33", "--save-reference", side_}),
                 "written over");
  expect_refused(say({side_, "--peers", other, side_, "--format", "12in-33"}), "given twice");
  expect_refused(say({side_, "--peers", other, "--format", "12in-33"}), "shorter than 5 s");
  EXPECT_FALSE(std::filesystem::exists(folder_ / "kept.wav"));
}

TEST_F(Listen, ASideWithinLimitsExitsWithNought) {
  const Said said = hear({});
  EXPECT_EQ(said.err, "");
  EXPECT_EQ(said.status, 0);
  EXPECT_TRUE(said.out.starts_with("● Within limits  side.wav against cut.wav, 12in-33\n"))
      << said.out;
}

TEST_F(Listen, ASideOutsideLimitsAndAWrongTitleExitWithOne) {
  ready_.report = draw::samples::faulty_lp();
  EXPECT_EQ(hear({}).status, 1);
  ready_.report = draw::samples::wrong_title();
  EXPECT_EQ(hear({}).status, 1);
}

TEST_F(Listen, ACaptureAloneIsHeardWithoutItsCut) {
  const std::string lone = test::record(folder_ / "lone.wav", 8.0);
  const Said said = say({lone,
                         "--format",
                         "12in-33",
                         "--json",
                         folder_ / "lone.json",
                         "--picture",
                         folder_ / "lone.svg"});
  EXPECT_EQ(said.err, "");
  EXPECT_EQ(said.status, 0);
  EXPECT_TRUE(said.out.starts_with("○ Heard without its cut  lone.wav, 12in-33\n")) << said.out;
  EXPECT_NE(said.out.find("these limits were not judged: "), std::string::npos) << said.out;
  const auto report = json::read(bytes(folder_ / "lone.json"));
  ASSERT_TRUE(report) << report.error().text;
  EXPECT_FALSE(report->reference || report->alignment);
  EXPECT_FALSE(report->capture.sha256.empty());
  EXPECT_NE(bytes(folder_ / "lone.svg").find("<?xml"), std::string::npos);
}

TEST_F(Listen, WritesReportAndPicture) {
  EXPECT_EQ(hear({"--json", folder_ / "side.json", "--picture", folder_ / "side.svg"}).status, 0);
  EXPECT_NE(bytes(folder_ / "side.json").find("goodside.listen/1"), std::string::npos);
  EXPECT_TRUE(bytes(folder_ / "side.svg").starts_with("<?xml"));
}

TEST_F(Listen, TakesPlaysOfOneDiscTogether) {
  const std::string again = test::record(folder_ / "again.wav", 2.0);
  const std::vector<std::string> words{
      side_, again, "--reference", cut_, "--format", "12in-33", "--plays", "as found, brushed"};
  const auto with = [&](std::vector<std::string> more) {
    more.insert(more.begin(), words.begin(), words.end());
    return say(more);
  };
  ready_.report = draw::samples::faulty_lp();
  const Said said = with({"--json", folder_ / "all.json"});
  EXPECT_EQ(said.err, "");
  EXPECT_EQ(said.status, 1);
  EXPECT_TRUE(
      said.out.starts_with("▲ Outside limits  2 plays of one disc against cut.wav, 12in-33"))
      << said.out;
  EXPECT_NE(said.out.find("1 as found, 2 brushed"), std::string::npos) << said.out;
  for (const auto& line : wrapped_lines(said.out)) EXPECT_LE(columns(line), line_width) << line;
  const auto plays = json::read_plays(bytes(folder_ / "all.json"));
  ASSERT_TRUE(plays) << plays.error().text;
  EXPECT_EQ(plays->plays.size(), 2U);

  std::filesystem::create_directory(folder_ / "reports");
  EXPECT_EQ(with({"--json", folder_ / "reports"}).status, 1);
  EXPECT_TRUE(json::read(bytes(folder_ / "reports/again.json")));
  EXPECT_TRUE(json::read_plays(bytes(folder_ / "reports/plays.json")));
  EXPECT_NE(with({"--json", "-"}).out.find("goodside.plays/1"), std::string::npos);
  expect_refused(with({"--json", again}), "over the recording");
}

TEST_F(Listen, RefusesPlaysThatCannotBeMeant) {
  expect_refused(hear({"--plays", "as found"}), "two or more");
  expect_refused(hear({"--plays", "as found,brushed"}), "2 words for 1 capture");
  expect_refused(hear({"--plays", "as found,polished"}), "\"polished\" is none of");
  expect_refused(say({side_, cut_, "--format", "12in-33", "--plays", "as found,washed"}),
                 "--plays is of use with --reference alone");
}

TEST_F(Listen, WritesPlotsPageAndFinder) {
  ready_.report = draw::samples::faulty_lp();
  EXPECT_EQ(hear({"--show", "wow", "--picture", folder_ / "wow.svg"}).status, 1);
  EXPECT_EQ(hear({"--show", "levels", "--picture", folder_ / "levels.pdf"}).status, 1);
  EXPECT_TRUE(bytes(folder_ / "wow.svg").starts_with("<?xml"));
  EXPECT_TRUE(bytes(folder_ / "levels.pdf").starts_with("%PDF-"));
  EXPECT_EQ(hear({"--report", folder_ / "side.html"}).err, "");
  const std::string page = bytes(folder_ / "side.html");
  EXPECT_TRUE(page.starts_with("<!DOCTYPE html>"));
  EXPECT_NE(page.find("<strong>Next:</strong>"), std::string::npos);
  EXPECT_NE(page.find("data:audio/wav;base64,"), std::string::npos);
  EXPECT_TRUE(ready_.given.keep) << "the page asks the engine to keep what its sounds need";
  EXPECT_EQ(hear({"--finder",
                  folder_ / "finder.pdf",
                  "--view",
                  "stamper",
                  "--paper",
                  "Letter",
                  "--landmark",
                  "133=matrix number"})
                .err,
            "");
  EXPECT_TRUE(bytes(folder_ / "finder.pdf").starts_with("%PDF-"));
  EXPECT_FALSE(ready_.given.keep) << "a finder does not";
}

TEST_F(Listen, JsonOnStandardOutputIsAlone) {
  const Said said = hear({"--json", "-"});
  EXPECT_EQ(said.out.front(), '{');
  EXPECT_EQ(said.out.find("Next:"), std::string::npos);
}

TEST_F(Listen, TakesThePlaybackCurveFromTheLineOrTheBench) {
  const auto remarked = [](const Said& said, const std::string& what) {
    EXPECT_EQ(said.err, "");
    return said.out.find(what) != std::string::npos;
  };
  EXPECT_FALSE(remarked(hear({}), "recorded flat"));
  EXPECT_TRUE(remarked(hear({"--equalise", "bs-1928-coarse"}), "bs-1928-coarse"));
  EXPECT_TRUE(remarked(hear({"--equalise", "3180/450/0"}), "3180/450/0 us"));
  const std::string folder = folder_ / "works";
  std::filesystem::create_directory(folder);
  std::ofstream{folder + "/goodside.toml"}
      << "[bench.flat]\nequalise = \"riaa\"\n[bench.odd]\nequalise = \"loud\"\n";
  EXPECT_TRUE(remarked(hear({"--in", folder, "--bench", "flat"}), "iec-60098"));
  EXPECT_FALSE(
      remarked(hear({"--in", folder, "--bench", "flat", "--equalise", "flat"}), "recorded flat"));
  expect_refused(hear({"--in", folder, "--bench", "odd"}), "bench 'odd', equalise");
  expect_refused(hear({"--equalise", "loud"}), "iec-60098 iec-60098-amended bs-1928-coarse");
  expect_refused(hear({"--equalise", "318/75"}), "3180/318/75");
}

TEST_F(Listen, HandsSideBenchAndJobsToTheEngine) {
  EXPECT_EQ(say({side_,         "--reference",    cut_,     "--rpm",
                 "78.26",       "--outer-radius", "120 mm", "--pitch",
                 "0.25mm",      "--arm-length",   "230mm",  "--arm-mount=212mm",
                 "--clock-ppm", "-12.5",          "--jobs", "2",
                 "--mark",      "0:01=119.9mm",   "--mark", "1.5 s=119 mm"})
                .err,
            "");
  const auto& given = ready_.given;
  EXPECT_DOUBLE_EQ(given.side.rpm, 78.26);
  EXPECT_DOUBLE_EQ(given.side.outer_radius_m, 0.12);
  EXPECT_NEAR(given.side.inner_radius_m, 0.12 - 2.5e-4 * 2.0 * 78.26 / 60.0, 1e-12);
  EXPECT_TRUE(given.side.shellac_type);
  EXPECT_DOUBLE_EQ(given.bench.arm.effective_length_m, 0.23);
  EXPECT_DOUBLE_EQ(given.bench.clock_error_ppm, -12.5);
  EXPECT_TRUE(given.bench.clock_calibrated);
  EXPECT_EQ(given.jobs, 2);
  ASSERT_EQ(given.side.marks.size(), 2U);
  EXPECT_DOUBLE_EQ(given.side.marks[1].programme_s, 1.5);
  EXPECT_DOUBLE_EQ(given.side.marks[1].radius_m, 0.119);
}

TEST_F(Listen, TheBenchOfTheWorksFolderIsOverriddenByOptions) {
  std::ofstream{folder_ / "goodside.toml"}
      << "[bench.east]\narm_length = \"230 mm\"\narm_mount = \"212 mm\"\n"
         "clock_error_ppm = 7.0\n";
  const std::string folder = folder_ / "";
  EXPECT_EQ(hear({"--in", folder, "--bench", "east", "--arm-length", "240 mm"}).err, "");
  EXPECT_DOUBLE_EQ(ready_.given.bench.arm.effective_length_m, 0.24);
  EXPECT_DOUBLE_EQ(ready_.given.bench.arm.mounting_distance_m, 0.212);
  EXPECT_DOUBLE_EQ(ready_.given.bench.clock_error_ppm, 7.0);
  expect_refused(hear({"--in", folder, "--bench", "west"}), "west");
}

TEST_F(Listen, ATypedFormatRetiresTheSideOfTheBench) {
  std::ofstream{folder_ / "goodside.toml"}
      << "[bench.left]\nformat = \"12in-33\"\nrpm = 33.3333\nouter_radius = \"146 mm\"\n";
  const std::vector<std::string> bench{
      side_, "--reference", cut_, "--in", folder_ / "", "--bench", "left"};
  EXPECT_EQ(say(bench).err, "");
  EXPECT_EQ(ready_.given.side.format, "12in-33");
  EXPECT_DOUBLE_EQ(ready_.given.side.outer_radius_m, 0.146);
  auto typed = bench;
  typed.insert(typed.end(), {"--format", "7in-45"});
  EXPECT_EQ(say(typed).err, "");
  EXPECT_DOUBLE_EQ(ready_.given.side.rpm, 45.0);
  EXPECT_LT(ready_.given.side.outer_radius_m, 0.0875);
}

TEST_F(Listen, ACoarseGrooveByFiguresIsShellacAndLateralUnlessTold) {
  std::vector<std::string> coarse{side_,
                                  "--reference",
                                  cut_,
                                  "--rpm",
                                  "78.26",
                                  "--outer-radius",
                                  "120 mm",
                                  "--pitch",
                                  "0.25mm"};
  say(coarse);
  EXPECT_TRUE(ready_.given.side.shellac_type);
  EXPECT_FALSE(ready_.given.side.stereo);
  const auto shellac_limits = ready_.given.limits;
  coarse.insert(coarse.end(), {"--surface", "vinyl"});
  say(coarse);
  EXPECT_FALSE(ready_.given.side.shellac_type);
  EXPECT_NE(ready_.given.limits.weighted_noise_dB, shellac_limits.weighted_noise_dB);
}

TEST_F(Listen, RefusesWhatCannotBeMeant) {
  expect_refused(say({side_, "--reference", cut_}), "--rpm is missing; give --format");
  expect_refused(say({side_, "--reference", cut_, "--rpm", "45"}), "--outer-radius is missing");
  expect_refused(say({side_, "--reference", cut_, "--rpm", "45", "--outer-radius", "84mm"}),
                 "--inner-radius or --pitch is missing");
  expect_refused(say({side_, "--reference", cut_, "--format", "13in-33"}), "--format: ");
  expect_refused(say({side_, "--format", "12in-33"}), "side.wav: the capture is shorter than 5 s");
  expect_refused(say({side_, "--format", "12in-33", "--mark", "3:42=128mm"}),
                 "--mark is of use with --reference");
  expect_refused(say({side_, "--format", "12in-33", "--reference-kind", "mother"}),
                 "--reference-kind is of use with --reference");
  expect_refused(hear({"--rpm", "nan"}), "--rpm: ");
  expect_refused(hear({"--outer-radius", "146"}), "--outer-radius: ");
  expect_refused(hear({"--outer-radius", "3 m"}), "--outer-radius: ");
  expect_refused(hear({"--inner-radius", "147 mm"}), "check --inner-radius");
  expect_refused(hear({"--arm-length", "230mm"}), "--arm-mount is missing");
  expect_refused(hear({"--arm-length", "212mm", "--arm-mount", "230mm"}), "exchanged");
  expect_refused(hear({"--clock-ppm", "inf"}), "--clock-ppm: ");
  expect_refused(hear({"--jobs", "2.5"}), "--jobs: ");
  expect_refused(hear({"--jobs", "-1"}), "--jobs: ");
  expect_refused(hear({"--mark", "3:42"}), "3:42=128mm");
  expect_refused(hear({"--surface", "wax"}), "\"shellac\"");
  expect_refused(hear({"--view", "lid"}), "\"stamper\"");
  expect_refused(hear({"--reference-kind", "tape"}), "\"approved pressing\"");
  expect_refused(hear({"--bench", "east"}), "--in DIR");
  expect_refused(hear({"--picture", folder_ / "side.bmp"}), ".png, .svg and .pdf");
  expect_refused(hear({"--show", "hum"}), "\"levels\"");
  expect_refused(hear({"--report", folder_ / "side.htm"}), ".html");
  expect_refused(hear({"--report", "-"}), "side.html");
  expect_refused(hear({"--finder", folder_ / "finder.png"}), ".pdf nor .svg");
  expect_refused(hear({"--finder", "-"}), "finder.pdf");
  expect_refused(hear({"--paper", "A5"}), "\"Letter\"");
  expect_refused(hear({"--landmark", "133"}), "133=matrix number");
  expect_refused(hear({"--landmark", "133= "}), "133=matrix number");
  expect_refused(hear({"--landmark", "nan=notch"}), "--landmark: ");
  expect_refused(hear({"--json", folder_ / "gone/side.json"}), "make it first");
  expect_refused(hear({"--json", side_}), "written over the recording");
  expect_refused(hear({"--referense", cut_}), "did you mean `--reference`?");
  expect_refused(say({folder_ / "gone.wav", "--reference", cut_, "--format", "12in-33"}),
                 "gone.wav");
}

TEST_F(Listen, OneBadCaptureAmongManyIsALineAndTheRestGoOn) {
  const std::string brief = test::record(folder_ / "brief.wav", 0.5);
  const std::string reports = folder_ / "reports/";
  std::filesystem::create_directories(reports);
  const Said said = say({side_,
                         brief,
                         test::record(folder_ / "other.wav", 2.0),
                         "--reference",
                         cut_,
                         "--format",
                         "12in-33",
                         "--json",
                         reports,
                         "--picture",
                         reports,
                         "--report",
                         reports,
                         "--finder",
                         reports});
  EXPECT_EQ(said.status, 2);
  EXPECT_EQ(said.err, "");
  EXPECT_TRUE(said.out.starts_with("2 heard: 2 within limits, 0 outside; 1 cannot be used\n"))
      << said.out;
  for (const char* name : {"side.json",
                           "side.png",
                           "side.html",
                           "side.pdf",
                           "other.json",
                           "other.png",
                           "other.html",
                           "other.pdf"})
    EXPECT_TRUE(std::filesystem::exists(reports + name)) << name;
  EXPECT_FALSE(std::filesystem::exists(reports + "brief.json"));
}

TEST_F(Listen, ManyCapturesNeedAFolderAndDifferentNames) {
  std::filesystem::create_directories(folder_ / "b");
  const std::string twin = test::record(folder_ / "b/side.wav", 2.0);
  const auto many = [&](const std::string& json) {
    return say({side_, twin, "--reference", cut_, "--format", "12in-33", "--json", json});
  };
  expect_refused(many(folder_ / "all.json"), "name a folder");
  expect_refused(many("-"), "name a folder");
  expect_refused(many(folder_ / "b/"), "written twice");
}

TEST_F(Listen, CtrlCLeavesNothingWritten) {
  ready_.interrupt = true;
  const Said said = hear({"--json", folder_ / "side.json", "--picture", folder_ / "side.png"});
  expect_refused(said, "stopped, nothing written");
  EXPECT_FALSE(std::filesystem::exists(folder_ / "side.json"));
  EXPECT_FALSE(std::filesystem::exists(folder_ / "side.png"));
}

TEST_F(Listen, HelpKeepsWithinEightyColumns) {
  const Said said = say({"--help"});
  EXPECT_EQ(said.status, 0);
  std::istringstream lines{said.out};
  for (std::string line; std::getline(lines, line);) EXPECT_LE(columns(line), line_width) << line;
}

}  // namespace
}  // namespace goodside::cli
