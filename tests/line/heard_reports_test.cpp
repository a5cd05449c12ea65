#include "line/heard_reports.hpp"

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "intake/limits.hpp"
#include "json/listening_report.hpp"
#include "line/recordings.hpp"
#include "listen/bench_reports.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;

class HeardReports : public ::testing::Test {
 protected:
  void SetUp() override {
    std::filesystem::create_directory(folder_ / "good");
    std::filesystem::create_directory(folder_ / "bad");
    for (int k = 0; k < 9; ++k) {
      keep("good/" + std::to_string(k) + ".json", -62.0 + k);
      keep("bad/" + std::to_string(k) + ".json", -49.0 + k);
    }
  }
  std::string keep(const std::string& name,
                   double noise_dB,
                   const std::string& format = "12in-33") {
    auto report = listen::test::clean_play(name);
    report.noise.weighted_dB = noise_dB;
    report.geometry.format = format;
    report.verdict.limits = format;
    return put(name, json::write(report));
  }
  std::string put(const std::string& name, const std::string& text) {
    std::ofstream{folder_ / name} << text;
    return folder_ / name;
  }
  std::string refusal(const ListenersVerdicts& verdicts) {
    const auto learned = learn_from_reports(verdicts);
    return learned ? "taken" : learned.error().text;
  }

  test::Folder folder_;
};

TEST_F(HeardReports, LearnFromFoldersALimitThatLoads) {
  const auto learned =
      learn_from_reports({.passed = {folder_ / "good"}, .failed = {folder_ / "bad"}});
  ASSERT_TRUE(learned) << learned.error().text;
  EXPECT_EQ(learned->format, "12in-33");
  EXPECT_EQ(learned->learned.agreed(), 18);
  const std::string file = put("ours.toml", intake::limits_toml(learned->limits, learned->format));
  const auto loaded = intake::read_limits(file, "12in-33");
  ASSERT_TRUE(loaded) << loaded.error().text;
  EXPECT_EQ(loaded->weighted_noise_dB, learned->limits.weighted_noise_dB);
  EXPECT_LT(*loaded->weighted_noise_dB, -49.0);
  EXPECT_EQ(loaded->eccentricity_m, intake::built_in_limits("12in-33").eccentricity_m);
}

TEST_F(HeardReports, PassOverWhatIsNoReportInAFolderAndSaySo) {
  put("good/notes.json", "{\"schema\": \"goodside.plays/1\"}");
  keep("bad/single.json", -30.0, "7in-45");
  const auto learned = learn_from_reports(
      {.passed = {folder_ / "good"}, .failed = {folder_ / "bad"}, .format = "12in-33"});
  ASSERT_TRUE(learned) << learned.error().text;
  EXPECT_EQ(learned->learned.discs(), 18);
  EXPECT_THAT(learned->remarks, testing::ElementsAre(HasSubstr("notes.json"), HasSubstr("7in-45")));
}

TEST_F(HeardReports, RefuseInOneLineWhatCannotBeLearnedFrom) {
  const std::string good = folder_ / "good", bad = folder_ / "bad";
  EXPECT_THAT(refusal({.passed = {good}, .failed = {good}}), HasSubstr("given twice"));
  EXPECT_THAT(refusal({.passed = {good}, .failed = {folder_ / "none.json"}}),
              HasSubstr("none.json"));
  const std::string broken = put("broken.json", "{\"schema\": \"goodside.listen/1\", ");
  EXPECT_THAT(refusal({.passed = {good}, .failed = {broken}}), HasSubstr("broken.json"));
  const std::string single = keep("single.json", -30.0, "7in-45");
  EXPECT_THAT(refusal({.passed = {good}, .failed = {bad, single}}), HasSubstr("--format"));
  EXPECT_THAT(refusal({.passed = {good}, .failed = {bad}, .format = "10in-78"}),
              HasSubstr("no report is of format 10in-78"));
}

TEST_F(HeardReports, ChartTheBenchInTheOrderGiven) {
  std::vector<std::string> plays;
  for (int k = 0; k < 8; ++k)
    plays.push_back(
        keep("play" + std::to_string(k) + ".json", k == 7 ? -40.0 : -60.0 + 0.1 * (k % 3)));
  const auto check = check_bench_by_reports({.reports = plays, .day = {}});
  ASSERT_TRUE(check) << check.error().text;
  EXPECT_TRUE(check->moved);
  EXPECT_EQ(check->plays, plays);
  const auto few = check_bench_by_reports({.reports = {plays[0], plays[1]}, .day = {}});
  EXPECT_FALSE(few);
}

}  // namespace
}  // namespace goodside::line
