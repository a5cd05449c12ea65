#include "line/stamper_lives.hpp"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "line/record_desk.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;
using works::LifeCause;

class LivesOfRecord : public test::RecordDesk {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() /
              fmt::format("goodside_lives_{}_{}", ::getpid(), static_cast<int>(GetParam()));
    std::filesystem::create_directories(folder_);
    std::ofstream{folder_ / "goodside.toml"}
        << "name = \"a works\"\n[limits.default]\nweighted_noise_dB = -50\n";
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  works::StamperLife life_of(const std::string& stamper,
                             const std::map<std::string, works::TraceReport>& traces = {}) {
    const auto known = lives_of_record(record_, folder_.string(), traces);
    EXPECT_TRUE(known) << (known ? "" : known.error().text);
    if (!known) return {};
    remarks_ = known->remarks;
    for (const auto& life : known->lives)
      if (life.stamper == stamper) return life;
    ADD_FAILURE() << "no life of " << stamper;
    return {};
  }
  std::string side_of(const std::string& letter) {
    std::string code;
    EXPECT_TRUE(record_.read([&](ledger::Reader& reader) {
      for (const auto& row : reader.where("side", "title", title))
        if (ledger::text(ledger::at(row, "letter")) == letter)
          code = ledger::text(ledger::at(row, "code"));
    }));
    return code;
  }
  /// A trace of one plain fault that begins with an impression of low..high.
  static works::TraceReport traced(const std::string& stamper,
                                   std::int64_t low,
                                   std::int64_t high) {
    works::RecurringFault fault;
    fault.cause.level = works::CauseLevel::stamper;
    fault.cause.id = stamper;
    fault.cause.posterior = 0.9;
    fault.cause.onset = works::CredibleImpressions{low, high, low};
    fault.cause.posterior_with_same = 0.9;
    works::TraceReport trace;
    trace.recurring = {fault};
    return trace;
  }
  /// A disc heard at an impression with so much noise.
  void heard(std::int64_t impression, double noise_dB, const char* verdict = "good") {
    const auto pulled = pull_sample(
        desk(), {.run = run, .first = impression, .last = impression, .reason = "sample"});
    ASSERT_TRUE(pulled) << pulled.error().text;
    works::ListeningReport report;
    report.capture.path = fmt::format("{}.wav", impression);
    report.capture.sha256 = fmt::format("{:064}", impression);
    report.noise.weighted_dB = noise_dB;
    const auto done = hear_sample(desk(),
                                  {.ticket = pulled->entered.code,
                                   .good = verdict == std::string{"good"},
                                   .report = report,
                                   .letter = "A",
                                   .report_path = "reports/none.json.gz",
                                   .report_sha256 = fmt::format("{:064}", impression)});
    ASSERT_TRUE(done) << done.error().text;
  }

  std::filesystem::path folder_;
  std::vector<std::string> remarks_;
};
FOR_BOTH_STORES(LivesOfRecord);

TEST_P(LivesOfRecord, AddUpAllMountingsAndStandOpenWhileTheStamperIsGood) {
  set_up();
  pressed(120);
  ASSERT_TRUE(unmount(desk(), {.mounting = mounting, .counter = 1120}));
  mounting = code(mount(desk(),
                        {.press = press,
                         .stamper_a = stamper_a,
                         .stamper_b = stamper_b,
                         .counter = 1120,
                         .reason = "cleaned"}));
  pressed(80);
  const auto life = life_of(stamper_a);
  EXPECT_EQ(life.good_to_closings, 200.0);
  EXPECT_FALSE(life.ended_by_closings);
  EXPECT_EQ(life.press, press);
  EXPECT_EQ(life.facing, "faced");
}

// The onset counts from the title's impressions to the stamper's own closings: another stamper
// pressed 1 to 50.
TEST_P(LivesOfRecord, EndWithTheOnsetThatATraceFound) {
  set_up();
  pressed(50);
  ASSERT_TRUE(unmount(desk(), {.mounting = mounting, .counter = 1050}));
  const std::string first = stamper_a;
  stamper_a = stamper("C");
  mounting = code(mount(desk(),
                        {.press = press,
                         .stamper_a = stamper_a,
                         .stamper_b = stamper_b,
                         .counter = 1050,
                         .reason = "new"}));
  pressed(100);
  const auto life = life_of(stamper_a, {{side_of("C"), traced(stamper_a, 90, 110)}});
  EXPECT_EQ(life.good_to_closings, 39.0);
  EXPECT_EQ(life.ended_by_closings, 60.0);
  EXPECT_EQ(life.cause, LifeCause::damage);
  EXPECT_FALSE(life_of(first, {{side_of("C"), traced(stamper_a, 90, 110)}}).ended_by_closings);
  // Faults from birth, faults that ceased and slight ones end no life.
  auto trace = traced(stamper_a, 90, 110);
  trace.recurring[0].cause.since_birth = 0.9;
  EXPECT_FALSE(life_of(stamper_a, {{side_of("C"), trace}}).ended_by_closings);
  trace = traced(stamper_a, 90, 110);
  trace.recurring[0].cause.end = works::CauseEnd{.probability = 0.9, .first_without = {}};
  EXPECT_FALSE(life_of(stamper_a, {{side_of("C"), trace}}).ended_by_closings);
  trace = traced(stamper_a, 90, 110);
  trace.recurring[0].audibility = works::Audibility::slight;
  EXPECT_FALSE(life_of(stamper_a, {{side_of("C"), trace}}).ended_by_closings);
}

TEST_P(LivesOfRecord, EndByWhatTheNoteOfTheWithdrawalNames) {
  set_up();
  pressed(150);
  heard(100, -70.0);
  ASSERT_TRUE(unmount(desk(), {.mounting = mounting, .counter = 1150}));
  ASSERT_TRUE(log_step(
      desk(), {.part = stamper_a, .step = works::Step::withdrawn, .note = "Cracked at the edge"}));
  ASSERT_TRUE(log_step(
      desk(), {.part = stamper_b, .step = works::Step::withdrawn, .note = "end of the order"}));
  const auto life = life_of(stamper_a);
  EXPECT_EQ(life.good_to_closings, 100.0);
  EXPECT_EQ(life.ended_by_closings, 150.0);
  EXPECT_EQ(life.cause, LifeCause::crack);
  EXPECT_FALSE(life_of(stamper_b).ended_by_closings);
  EXPECT_THAT(remarks_, testing::ElementsAre(HasSubstr("end of the order")));
  // With a trace's interval the note still names the cause.
  const auto dated = life_of(stamper_a, {{side_of("A"), traced(stamper_a, 111, 120)}});
  EXPECT_EQ(dated.good_to_closings, 110.0);
  EXPECT_EQ(dated.ended_by_closings, 120.0);
  EXPECT_EQ(dated.cause, LifeCause::crack);
}

// The line -70 + 0.1 a closing comes to -50 dB at 200 closings.
TEST_P(LivesOfRecord, EndByWearWhereTheNoiseComesToTheLimit) {
  set_up();
  const std::string side = side_of("A");
  ASSERT_TRUE(record_.write(desk().act("format"), [&](ledger::Writer& writer) {
    auto row = writer.need("side", side);
    row["format"] = std::string{"12in-33"};
    writer.alter("side", row);
  }));
  pressed(250);
  for (int n = 10; n <= 250; n += 20) heard(n, -70.0 + 0.1 * n + 0.2 * (n % 3 - 1));
  const auto life = life_of(stamper_a);
  EXPECT_LT(life.good_to_closings, 200.0);
  EXPECT_GT(life.good_to_closings, 190.0);
  EXPECT_GT(life.ended_by_closings.value_or(0.0), 200.0);
  EXPECT_LT(life.ended_by_closings.value_or(0.0), 210.0);
  EXPECT_EQ(life.cause, LifeCause::wear);
}

TEST_P(LivesOfRecord, SayThatNothingWasPressed) {
  set_up();
  const auto known = lives_of_record(record_, folder_.string(), {});
  ASSERT_FALSE(known);
  EXPECT_EQ(known.error().fault, Fault::bad_input);
}

TEST(LifeReports, CarryTheRemarksAndSayWhoseTheCostsAre) {
  const KnownLives known{
      .lives = {{.stamper = "S1", .good_to_closings = 10, .ended_by_closings = 20},
                {.stamper = "S2", .good_to_closings = 30, .ended_by_closings = 50},
                {.stamper = "S3", .good_to_closings = 40}},
      .remarks = {"of S3"}};
  const auto report = life_report(known, {}, 1);
  ASSERT_TRUE(report) << report.error().text;
  EXPECT_THAT(report->remarks, testing::ElementsAre("of S3", HasSubstr("invented")));
}

}  // namespace
}  // namespace goodside::line
