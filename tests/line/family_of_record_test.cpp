#include "line/family_of_record.hpp"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

#include "base/sha256.hpp"
#include "intake/compressed_file.hpp"
#include "json/listening_report.hpp"
#include "json/trace_report.hpp"
#include "line/quarantine.hpp"
#include "line/record_desk.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;

class FamilyOfRecord : public test::RecordDesk {
 protected:
  void SetUp() override {
    folder_ = (std::filesystem::temp_directory_path() /
               fmt::format("goodside_family_{}_{}", ::getpid(), static_cast<int>(GetParam())))
                  .string();
    std::filesystem::create_directories(folder_ + "/reports");
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  /// A disc pulled at the impression, heard with a tick at 100 s or without.
  std::string hear(std::int64_t impression, bool tick) {
    const auto pulled = pull_sample(
        desk(), {.run = run, .first = impression, .last = impression, .reason = "sample"});
    EXPECT_TRUE(pulled.has_value()) << (pulled ? "" : pulled.error().text);
    works::ListeningReport report;
    report.capture.path = fmt::format("{}.wav", impression);
    report.capture.sha256 = fmt::format("{:064}", impression);
    report.reference.emplace();
    report.reference->file.duration_s = 600.0;
    report.heard = {{0.0, 600.0}};
    report.geometry = {"12in-33", 100.0 / 3.0, 0.146, 0.06, 1e-4};
    report.alignment.emplace();
    report.alignment->found = true;
    report.alignment->programme_sigma_s = 1e-4;
    const auto fault = [&](double programme_s) {
      works::FaultEvent one;
      one.id = static_cast<int>(report.faults.size()) + 1;
      one.programme_s = programme_s;
      one.excess_dB = 15.0;
      report.faults.push_back(one);
    };
    fault(3.0 + static_cast<double>(impression % 91));
    if (tick) fault(300.0 + 1e-5 * static_cast<double>(impression % 5));
    const std::string text = json::write(report);
    Heard heard{.ticket = pulled->entered.code, .good = !tick, .report = report, .letter = "A"};
    heard.report_sha256 = sha256_hexadecimal(text);
    heard.report_path = "reports/" + heard.report_sha256 + ".json.gz";
    EXPECT_TRUE(intake::write_compressed(folder_ + "/" + heard.report_path, text));
    const auto verdict = hear_sample(desk(), heard);
    EXPECT_TRUE(verdict.has_value()) << (verdict ? "" : verdict.error().text);
    return pulled->entered.code;
  }

  std::string side_code(const std::string& letter) {
    std::string code;
    const auto asked = record_.read([&](ledger::Reader& reader) {
      for (const auto& row : reader.where("side", "title", title))
        if (ledger::text(ledger::at(row, "letter")) == letter)
          code = ledger::text(ledger::at(row, "code"));
    });
    EXPECT_TRUE(asked);
    return code;
  }

  std::string folder_;
};
FOR_BOTH_STORES(FamilyOfRecord);

TEST_P(FamilyOfRecord, HoldsMetalDiscsStepsAndReportsAndIsTraced) {
  set_up();
  pressed(100);
  ASSERT_TRUE(log_step(
      desk(), {.part = stamper_a, .step = works::Step::washed_on_press, .mounting = mounting}));
  pressed(100);
  for (std::int64_t n = 5; n <= 195; n += 10) hear(n, n > 100);
  const auto heard = family_of_record(record_, folder_, side_code("A"), {}, 1);
  ASSERT_TRUE(heard) << heard.error().text;
  const works::Family& family = heard->family;
  EXPECT_EQ(family.parts.size(), 8U);  // lacquer, father, mother and stamper of either side
  ASSERT_EQ(family.discs.size(), 20U);
  EXPECT_EQ(family.discs[0].stamper[0], stamper_a);
  EXPECT_EQ(family.discs[0].stamper[1], stamper_b);
  EXPECT_EQ(family.discs[0].mounting, mounting);
  EXPECT_EQ(family.discs[0].press, press);
  EXPECT_EQ(family.discs[0].batch, batch);
  EXPECT_EQ(family.discs[0].impression, (works::Impressions{5, 5}));
  EXPECT_EQ(heard->plays.size(), 20U);
  EXPECT_TRUE(heard->refused.empty());
  const auto washed =
      std::ranges::find(family.steps, std::string{"washed on press"}, &works::FamilyStep::what);
  ASSERT_NE(washed, family.steps.end());
  EXPECT_EQ(washed->part, stamper_a);
  EXPECT_EQ(washed->at, (works::Impressions{101, 101}));
  EXPECT_FALSE(family.stock.empty());

  const auto traced = trace_family(std::move(*heard), 1);
  ASSERT_TRUE(traced);
  ASSERT_EQ(traced->trace.recurring.size(), 1U);
  const auto& cause = traced->trace.recurring[0].cause;
  EXPECT_THAT((std::vector<std::string>{stamper_a, mounting}), testing::Contains(cause.id));
  EXPECT_EQ(cause.onset->best, 101);

  // And what it calls suspect is held where it lies: nearly all that was pressed since.
  EXPECT_EQ(traced->trace.works_side, side_code("A"));
  const auto suspects = suspect_order(traced->trace, 1, "");
  ASSERT_TRUE(suspects) << suspects.error().text;
  const auto held = quarantine(desk(), *suspects, false);
  ASSERT_TRUE(held) << held.error().text;
  EXPECT_GE(held->discs + held->kept, 85);
  EXPECT_LE(held->discs + held->kept, 120);
  expect_closes();
}

// Property: what a new report refreshes is the answer from nothing, byte by byte.
TEST_P(FamilyOfRecord, RefreshedIsTheAnswerFromNothing) {
  set_up();
  pressed(200);
  const auto traced = [&] {
    auto heard = family_of_record(record_, folder_, side_code("A"), {}, 1);
    EXPECT_TRUE(heard);
    return json::write(trace_family(std::move(*heard), 1)->trace);
  };
  for (std::int64_t n = 5; n <= 185; n += 20) hear(n, n > 100);
  const std::string before = traced();
  EXPECT_EQ(traced(), before);
  hear(195, true);
  const std::string refreshed = traced();
  EXPECT_NE(refreshed, before);
  const std::string cache = folder_ + "/cache/heard " + side_code("A");
  ASSERT_TRUE(std::filesystem::is_regular_file(cache));
  std::filesystem::resize_file(cache, std::filesystem::file_size(cache) - 7);
  EXPECT_EQ(traced(), refreshed) << "a damaged cache";
  std::filesystem::remove_all(folder_ + "/cache");
  EXPECT_EQ(traced(), refreshed) << "no cache";
  // A kept report is not unpacked again: what stands in its file now is no longer looked at.
  for (const auto& report : std::filesystem::directory_iterator{folder_ + "/reports"})
    std::filesystem::resize_file(report.path(), 1);
  EXPECT_EQ(traced(), refreshed);
}

TEST_P(FamilyOfRecord, SaysWhatIsMissing) {
  set_up();
  pressed(50);
  EXPECT_EQ(family_of_record(record_, folder_, "SD-0099-X", {}, 1).error().fault, Fault::not_found);
  EXPECT_THAT(family_of_record(record_, folder_, side_code("A"), {}, 1).error().text,
              HasSubstr("no listening report of side"));
  hear(10, false);
  std::filesystem::remove_all(folder_ + "/reports");
  EXPECT_THAT(family_of_record(record_, folder_, side_code("A"), {}, 1).error().text,
              HasSubstr("none of the 1 reports"));
}

}  // namespace
}  // namespace goodside::line
