#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "cli/wrap.hpp"
#include "intake/limits.hpp"
#include "json/listening_report.hpp"
#include "line/recordings.hpp"
#include "listen/bench_reports.hpp"

namespace goodside::cli {
namespace {

struct Said {
  int status{};
  std::string out, err;
};

class BenchCommands : public ::testing::Test {
 protected:
  static Said say(const std::vector<std::string>& words) {
    std::ostringstream out, err;
    Console console{out, err, {}};
    const int status = run_line({limits_command(), check_disc_command()}, words, console);
    return {status, out.str(), err.str()};
  }
  static void expect_refused(const Said& said, const std::string& what) {
    EXPECT_EQ(said.status, 2);
    EXPECT_EQ(said.out, "");
    EXPECT_NE(said.err.find(what), std::string::npos) << said.err;
    EXPECT_EQ(said.err.find('\n'), said.err.size() - 1) << said.err;
  }
  static void expect_readable(const std::string& text) {
    std::istringstream in{text};
    for (std::string line; std::getline(in, line);) EXPECT_LE(columns(line), line_width) << line;
  }
  std::string report(const std::string& name, double noise_dB) {
    auto one = listen::test::clean_play(name);
    one.noise.weighted_dB = noise_dB;
    one.verdict.limits = "12in-33";
    const std::filesystem::path path = folder_ / name;
    std::filesystem::create_directories(path.parent_path());
    std::ofstream{path} << json::write(one);
    return path.string();
  }
  static std::string bytes(const std::string& path) {
    std::ostringstream whole;
    whole << std::ifstream{path, std::ios::binary}.rdbuf();
    return whole.str();
  }

  test::Folder folder_;
};

TEST_F(BenchCommands, LimitsAreLearnedAndLoad) {
  for (int k = 0; k < 9; ++k) {
    report("good/" + std::to_string(k) + ".json", -62.0 + k);
    report("bad/" + std::to_string(k) + ".json", -49.0 + k);
  }
  report("bad/odd.json", -57.5);
  const std::vector<std::string> words{"limits",
                                       "--passed",
                                       folder_ / "good",
                                       "--failed",
                                       folder_ / "bad",
                                       "--out",
                                       folder_ / "ours.toml",
                                       "--json",
                                       folder_ / "ours.json"};
  const Said said = say(words);
  EXPECT_EQ(said.err, "");
  EXPECT_EQ(said.status, 0);
  EXPECT_TRUE(said.out.starts_with("1 limit learned  12in-33, from 9 passed and 10 failed discs\n"))
      << said.out;
  EXPECT_NE(said.out.find("bad/odd.json: listeners"), std::string::npos) << said.out;
  expect_readable(said.out);
  const auto limits = intake::read_limits(folder_ / "ours.toml", "12in-33");
  ASSERT_TRUE(limits) << limits.error().text;
  EXPECT_LT(*limits->weighted_noise_dB, -49.0);
  EXPECT_NE(bytes(folder_ / "ours.json").find("goodside.limits/1"), std::string::npos);
}

TEST_F(BenchCommands, LimitsRefuseInOneLine) {
  const std::string good = report("good.json", -60.0), bad = report("bad.json", -30.0);
  const std::string out = folder_ / "ours.toml";
  expect_refused(say({"limits", "--passed", good, "--out", out}), "--failed");
  expect_refused(say({"limits", "--passed", good, "--failed", bad, "--out", folder_ / "ours.txt"}),
                 "does not end with .toml");
  expect_refused(
      say({"limits", "--passed", good, "--failed", bad, "--out", folder_ / "no/ours.toml"}),
      "there is no folder");
  expect_refused(
      say({"limits", "--passed", good, "--failed", bad, "--out", out, "--format", "13in-33"}),
      "13in-33");
  expect_refused(
      say({"limits", "--passed", good, "--failed", bad, "--out", out, "--missed-weighs", "nan"}),
      "--missed-weighs");
  EXPECT_FALSE(std::filesystem::exists(out));
  // Too few to learn from is no bad input: the built-in limits are written, and it is said.
  const Said few = say({"limits", "--passed", good, "--failed", bad, "--out", out});
  EXPECT_EQ(few.status, 0);
  EXPECT_TRUE(few.out.starts_with("No limit moved")) << few.out;
  EXPECT_NE(few.out.find("5 of each are needed"), std::string::npos) << few.out;
}

TEST_F(BenchCommands, ACheckDiscTellsWhetherTheBenchMoved) {
  std::vector<std::string> words{"check-disc"};
  for (int k = 0; k < 8; ++k)
    words.push_back(report("play" + std::to_string(k) + ".json", -60.0 + 0.1 * (k * 5 % 3)));
  const Said still = say(words);
  EXPECT_EQ(still.err, "");
  EXPECT_EQ(still.status, 0) << still.out;
  EXPECT_TRUE(still.out.starts_with("● The bench stands still  8 plays of the check disc"))
      << still.out;
  expect_readable(still.out);
  words.push_back(report("today.json", -52.0));
  const Said moved = say(words);
  EXPECT_EQ(moved.status, 1);
  EXPECT_TRUE(moved.out.starts_with("▲ The bench has moved")) << moved.out;
  EXPECT_NE(moved.out.find("stylus and check disc"), std::string::npos) << moved.out;
  expect_readable(moved.out);
  words.insert(words.end(), {"--json", "-"});
  EXPECT_NE(say(words).out.find("goodside.check-disc/1"), std::string::npos);
}

TEST_F(BenchCommands, ACheckDiscRefusesInOneLine) {
  const std::string one = report("one.json", -60.0);
  expect_refused(say({"check-disc", one}), "6 are needed");
  expect_refused(say({"check-disc", folder_ / "none.json"}), "none.json");
  expect_refused(say({"check-disc", one, "--first", "2.5"}), "--first");
  expect_refused(say({"check-disc", one, "--days", "0,x"}), "--days");
}

TEST_F(BenchCommands, HelpKeepsWithinEightyColumns) {
  for (const char* command : {"limits", "check-disc"}) {
    const Said said = say({command, "--help"});
    EXPECT_EQ(said.status, 0);
    expect_readable(said.out);
  }
}

}  // namespace
}  // namespace goodside::cli
