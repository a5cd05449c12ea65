#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "cli/commands.hpp"
#include "cli/spread_text.hpp"
#include "cli/trace_summary.hpp"
#include "json/trace_report.hpp"

namespace goodside::cli {
namespace {

using testing::HasSubstr;

class TraceCommand : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() /
              fmt::format("goodside_trace_{}_{}",
                          ::getpid(),
                          testing::UnitTest::GetInstance()->current_test_info()->name());
    std::filesystem::create_directories(folder_ / "reports");
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  void save(const std::string& name, const std::string& text) const {
    std::ofstream{folder_ / name} << text;
  }
  [[nodiscard]] std::string read(const std::string& name) const {
    std::ostringstream text;
    text << std::ifstream{folder_ / name}.rdbuf();
    return text.str();
  }
  /// Forty discs of two stampers; a tick at 3:12 on all of S2.
  void save_family(const std::string& more_reports = "") const {
    std::string discs, reports;
    for (int n = 5; n <= 400; n += 10) {
      const bool second = n > 200;
      discs += fmt::format(
          R"({{"id":"D{0}","stamper":{{"A":"S{1}","B":null}},"impression":{0},"press":"P1"}},)",
          n,
          second ? 2 : 1);
      reports += fmt::format(R"({{"disc":"D{0}","side":"A","file":"d{0}.json"}},)", n);
      save(fmt::format("reports/d{}.json", n), report(second, n));
    }
    discs += R"({"id":"D231","stamper":{"A":"S2"},"impression":231,"fetchable":true})";
    reports.pop_back();
    save("family.json",
         fmt::format(R"({{"schema":"goodside.family/1","parts":[
         {{"id":"C1","kind":"cut","parent":null}},{{"id":"F1","kind":"father","parent":"C1"}},
         {{"id":"M1","kind":"mother","parent":"F1"}},
         {{"id":"S1","kind":"stamper","parent":"M1","grown":1}},
         {{"id":"S2","kind":"stamper","parent":"M1","grown":2}}],
         "discs":[{}],"reports":[{}{}]}})",
                     discs,
                     reports,
                     more_reports));
  }
  static std::string fault(double programme_s) {
    return fmt::format(R"({{"kind":"tick","programme_s":{},"excess_dB":12,"audibility":"plain",
      "angle_deg":10,"radius_m":0.12}})",
                       programme_s);
  }
  static std::string report(bool ticks, int n) {
    return fmt::format(
        R"({{"schema":"goodside.listen/1","reference":{{"duration_s":900}},"geometry":{{"rpm":33.3333}},
        "alignment":{{"found":true,"programme_sigma_s":5e-5}},"heard":[[0,900]],"faults":[{}{}]}})",
        fault(7.0 * (n % 97) + 1.0),
        ticks ? fmt::format(",{}", fault(192.0 + 1e-5 * (n % 7))) : "");
  }

  int run(std::vector<std::string> words) {
    std::ostringstream out, err;
    Console console{out, err, {.colour = false, .progress = false}};
    const int status = run_line({trace_command()}, words, console);
    out_ = out.str();
    err_ = err.str();
    return status;
  }
  [[nodiscard]] std::string in(const std::string& name) const { return (folder_ / name).string(); }

  std::filesystem::path folder_;
  std::string out_, err_;
};

TEST_F(TraceCommand, SaysWhichPartSinceWhenAndWhatToDo) {
  save_family();
  EXPECT_EQ(run({"trace", "--family", in("family.json"), "--reports", in("reports")}), 1);
  EXPECT_THAT(out_, HasSubstr("1 open recurring fault"));
  EXPECT_THAT(out_, HasSubstr("plain tick, A 3:12.0, 120 mm, 240°"));
  EXPECT_THAT(out_, HasSubstr("on 20 of 40 heard"));
  EXPECT_THAT(out_, HasSubstr("S2"));
  EXPECT_THAT(out_, HasSubstr("Caution: "));
  EXPECT_THAT(out_, HasSubstr("Next: "));
  std::istringstream lines{out_};
  for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 84U) << line;
}

TEST_F(TraceCommand, WritesTheWholeTrace) {
  save_family();
  EXPECT_EQ(
      run({"trace", "--family", in("family.json"), "--reports", in("reports"), "--json", "-"}), 1);
  const auto trace = json::read_trace(out_);
  ASSERT_TRUE(trace) << trace.error().text;
  EXPECT_EQ(trace->recurring.size(), 1U);
  EXPECT_EQ(trace->discs_heard, 40);
  const std::string first = out_;
  run({"trace",
       "--family",
       in("family.json"),
       "--reports",
       in("reports"),
       "--json",
       "-",
       "--jobs",
       "3"});
  EXPECT_EQ(out_, first);
}

TEST_F(TraceCommand, NamesABadReportAndTracesTheRest) {
  save("reports/empty.json", "");
  save_family(
      R"(,{"disc":"D231","file":"empty.json"},{"disc":"D231","play":2,"file":"none.json"})");
  EXPECT_EQ(run({"trace", "--family", in("family.json"), "--reports", in("reports")}), 1);
  EXPECT_THAT(out_, HasSubstr("Put aside (2)"));
  EXPECT_THAT(out_, HasSubstr("the report is empty"));
}

// Each wrong input has its line, and the tick of S2 is traced all the same.
TEST_F(TraceCommand, NamesEveryWrongInputInOneLineAndTracesTheRest) {
  save("reports/empty.json", "");
  save(
      "reports/outside.json",
      fmt::format(
          R"({{"schema":"goodside.listen/1","reference":{{"duration_s":900}},"geometry":{{"rpm":33.3333}},
        "alignment":{{"found":true,"programme_sigma_s":5e-5}},"heard":[[0,900]],"faults":[{}]}})",
          fault(4000.0)));
  save_family(
      R"(,{"disc":"D231","file":"empty.json"},{"disc":"D5","side":"A","file":"d15.json"},
         {"disc":"D231","play":2,"file":"outside.json"},{"disc":"D900","file":"d5.json"})");
  std::string text = read("family.json");
  text.replace(
      text.find(R"("parts":[)"),
      9,
      R"("parts":[{"id":"X1","kind":"mother","parent":"X2"},{"id":"X2","kind":"father","parent":"X1"},
                  {"id":"Y1","kind":"stamper","parent":"gone"},)");
  text.replace(
      text.find(R"("discs":[)"),
      9,
      R"("discs":[{"id":"N1","impression":77},{"id":"W1","stamper":{"A":"C1"},"impression":78},)");
  text.replace(text.find(R"("discs":[)"), 0, R"("costs":{"wahs":3,"wash":-1,"disc":2},)");
  save("family.json", text);
  EXPECT_EQ(run({"trace",
                 "--family",
                 in("family.json"),
                 "--reports",
                 in("reports"),
                 "--json",
                 in("t.json")}),
            1);
  EXPECT_THAT(out_, HasSubstr("S2"));
  EXPECT_THAT(out_, HasSubstr("the rest is traced:"));
  const auto traced = json::read_trace(read("t.json"));
  ASSERT_TRUE(traced) << traced.error().text;
  EXPECT_EQ(traced->recurring.size(), 1U);
  EXPECT_EQ(traced->discs_heard, 41);  // D231 was heard, if far outside the cut
  const auto named = [&](const std::string& what) {
    return std::ranges::count_if(traced->refused, [&](const works::RefusedInput& one) {
      return (one.what + ": " + one.why).find(what) != std::string::npos &&
             one.why.find('\n') == std::string::npos;
    });
  };
  for (const char* what : {"X",
                           "Y1",
                           "W1",
                           "empty.json",
                           "d15.json",
                           "outside the cut",
                           "D900",
                           "did you mean `wash`",
                           "$.costs.wash"})
    EXPECT_GE(named(what), 1) << what;
}

TEST_F(TraceCommand, RefusesInOneLineWhatCannotBeUsed) {
  save("family.json",
       R"({"schema":"goodside.family/1","reports":[{"disc":"D1","file":"none.json"}]})");
  save("other.json", R"({"schema":"goodside.listen/1"})");
  for (const auto& words : std::vector<std::vector<std::string>>{
           {"trace"},
           {"trace", "--family", in("missing.json"), "--reports", in("reports")},
           {"trace", "--family", in("other.json"), "--reports", in("reports")},
           {"trace", "--family", in("family.json"), "--reports", in("nowhere")},
           {"trace", "--family", in("family.json"), "--reports", in("reports")},
           {"trace", "--family", in("family.json"), "--reports", in("reports"), "--jobs", "-1"}}) {
    EXPECT_EQ(run(words), 2);
    EXPECT_EQ(std::count(err_.begin(), err_.end(), '\n'), 1) << err_;
    EXPECT_EQ(out_, "");
  }
}

TEST(TraceSummary, SaysSoWhereNothingRecurs) {
  works::TraceReport trace;
  trace.discs_heard = 3;
  const std::string text = trace_summary(trace, false);
  EXPECT_THAT(text, HasSubstr("No open recurring fault"));
  EXPECT_THAT(text, HasSubstr("Next: "));
}

works::TraceReport spread_sample() {
  works::TraceReport trace;
  trace.spread.push_back(
      {.measure = "noise",
       .components = {{"stamper", 4.0, 1.5, 20.0},
                      {"press", 0.5, 0.0, 9.0},
                      {"residual", 4.0, 3.0, 6.0}},
       .unit = "dB",
       .levels = {{"stamper", "S3", 3.1, 0.6, 9}, {"press", "P1", 0.4, 0.1, 30}}});
  works::OffCentre off;
  off.components = {{"stamper", 1e-8, 4e-9, 5e-8},
                    {"mounting", 2e-9, 5e-10, 4e-9},
                    {"residual", 1e-9, 5e-10, 2e-9}};
  off.holes = {{"S3", 2.1e-4, 140.0, 1.5e-5, 6}, {"S1", 4e-5, 20.0, 3e-5, 6}};
  off.pins = {{"P1", 1.2e-4, 2e-5, 4, 20}, {"P2", 2e-5, 2e-5, 4, 20}};
  trace.off_centre.push_back(off);
  return trace;
}

TEST(SpreadLines, TellOnlyWhatIsSureAndTheHoleFromThePin) {
  const auto lines = spread_lines(spread_sample());
  ASSERT_EQ(lines.size(), 3U);
  EXPECT_THAT(lines[0], HasSubstr("noise, side A: stampers make 47 % of the spread; S3 +3.1 dB"));
  EXPECT_THAT(lines[0], testing::Not(HasSubstr("P1")));
  EXPECT_THAT(lines[1], HasSubstr("the hole of stamper S3 is 0.21 mm off"));
  EXPECT_THAT(lines[1], HasSubstr("punch it anew"));
  EXPECT_THAT(lines[2], HasSubstr("the pin of press P1 is 0.12 mm off"));
  // Without a share of the mountings the root mean square of their scatter is no pin.
  auto one_pin = spread_sample();
  one_pin.off_centre[0].components[1].low = 0.0;
  EXPECT_EQ(spread_lines(one_pin).size(), 2U);
  EXPECT_TRUE(spread_lines({}).empty());
}

TEST(SpreadLines, StandInTheSummary) {
  EXPECT_THAT(trace_summary(spread_sample(), false),
              HasSubstr("Without a place in the groove:\n  - noise, side A"));
}

}  // namespace
}  // namespace goodside::cli
