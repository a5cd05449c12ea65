#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "line/enter_order.hpp"
#include "line/hold_part.hpp"
#include "line/inspect_discs.hpp"
#include "line/record_desk.hpp"
#include "line/reverse_entry.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;
using works::Place;

class ByHand : public test::RecordDesk {
 protected:
  void set_up_spindles() {
    set_up();
    spindle = add("spindle", {{"name", "7"}});
    EXPECT_TRUE(press_discs(desk(), {.run = run, .quantity = 60, .spindle = spindle}));
    EXPECT_TRUE(press_discs(desk(), {.run = run, .quantity = 40}));  // on none
  }
  std::int64_t on_tally(const std::string& inspection) {
    std::int64_t sum = 0;
    EXPECT_TRUE(record_.read([&](ledger::Reader& reader) { sum = tallied(reader, inspection); }));
    return sum;
  }
  std::int64_t looked(const std::string& inspection) {
    std::int64_t discs = 0;
    EXPECT_TRUE(record_.read([&](ledger::Reader& reader) {
      discs = ledger::whole(ledger::at(reader.need("inspection", inspection), "looked"));
    }));
    return discs;
  }
  std::string spindle;
};
FOR_BOTH_STORES(ByHand);

// Property: conservation. Whatever keys are touched and taken back, scrap is the tally, and no disc is lost.
TEST_P(ByHand, EachTouchOfTheInspectionTableClosesAndIsTakenBack) {
  set_up_spindles();
  const Looked table{.run = run, .spindle = spindle};
  std::mt19937 random{7};
  std::vector<std::int64_t> entries;
  std::string inspection;
  for (int touch = 0; touch < 40; ++touch) {
    if (!entries.empty() && random() % 3 == 0) {
      EXPECT_TRUE(reverse_entry(desk(), entries.back(), "wrong key"));
      entries.pop_back();
    } else {
      const char* const reasons[] = {"chip", "warp", "stain"};
      const auto done = reject_discs(desk(), {.of = table, .reason = reasons[random() % 3]});
      ASSERT_TRUE(done) << done.error().text;
      entries.push_back(done->head.seq);
      inspection = done->inspection;
      EXPECT_EQ(done->left, 60 - static_cast<std::int64_t>(entries.size()));
    }
    if (!entries.empty()) {
      EXPECT_EQ(on_tally(inspection), std::ssize(entries));
    }
  }
  const auto rejected = std::ssize(entries);
  EXPECT_EQ(discs_in("scrap"), rejected);
  const auto passed = pass_rest(desk(), table, 60 - rejected);
  ASSERT_TRUE(passed) << passed.error().text;
  EXPECT_EQ(passed->good + passed->rejected, 60);
  EXPECT_EQ(looked(passed->inspection), 60);
  EXPECT_EQ(discs_in("good stock"), 60 - rejected);
  EXPECT_EQ(discs_in("pressed"), 40);  // those on no spindle were not on the table
  expect_closes();
}

TEST_P(ByHand, ACountThatDiffersIsRefusedAndNothingIsEntered) {
  set_up_spindles();
  const Looked table{.run = run, .spindle = {}};
  const auto before = ledger::check(record_.connection(), {}).entries;
  const auto refused = pass_rest(desk(), table, 39);
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text, HasSubstr("holds 40"));
  EXPECT_EQ(reject_discs(desk(), {.of = table, .reason = "ugly"}).error().fault, Fault::bad_input);
  EXPECT_EQ(reject_discs(desk(), {.of = table, .reason = "chip", .quantity = 41}).error().fault,
            Fault::conflict);
  EXPECT_EQ(ledger::check(record_.connection(), {}).entries, before);
  EXPECT_EQ(pass_rest(desk(), table, {})->good, 40);
  EXPECT_EQ(pass_rest(desk(), table, {}).error().fault, Fault::not_found);
}

TEST_P(ByHand, AnOrderIsEnteredWholeOrNotAtAll) {
  NewOrder wanted{
      .new_title = {{"name", "New Leaves"}},
      .new_sides = {{{"letter", "A"}}, {{"letter", "B"}}},
      .order = {{"quantity", "50"}},
      .deliveries = {{{"to", "Bath"}, {"quantity", "30"}}, {{"to", "Leeds"}, {"quantity", "21"}}}};
  const auto before = ledger::check(record_.connection(), {});
  EXPECT_EQ(enter_order(desk(), wanted).error().fault, Fault::conflict);
  EXPECT_EQ(ledger::check(record_.connection(), {}).head, before.head);
  wanted.deliveries.back().back().second = "20";
  const auto entered = enter_order(desk(), wanted);
  ASSERT_TRUE(entered) << entered.error().text;
  EXPECT_EQ(entered->head.seq, before.head.seq + 1);
  EXPECT_EQ(entered->sides.size(), 2U);
  EXPECT_TRUE(reverse_entry(desk(), entered->head.seq, "entered twice"));
  expect_closes();
}

// Regression, 2026-11-26: after the last step was taken back, the one before it was refused as changed since.
TEST_P(ByHand, StepsAreTakenBackOneAfterTheOther) {
  set_up();
  const auto state = [&] {
    std::string now;
    EXPECT_TRUE(record_.read([&](ledger::Reader& reader) {
      now = ledger::text(ledger::at(reader.need("part", stamper_a), "state"));
    }));
    return now;
  };
  ASSERT_TRUE(unmount(desk(), {.mounting = mounting, .counter = 1000, .reason = "change"}));
  const std::string before = state();
  std::vector<std::int64_t> entries;
  using enum works::Step;
  for (const works::Step step : {withdrawn, taken_back, inspected, withdrawn})
    entries.push_back(log_step(desk(), {.part = stamper_a, .step = step, .note = "x"})->head.seq);
  EXPECT_THAT(reverse_entry(desk(), entries[1], "out of turn").error().text,
              HasSubstr("take that back first"));
  for (auto entry = entries.rbegin(); entry != entries.rend(); ++entry) {
    const auto undone = reverse_entry(desk(), *entry, "a mistake");
    ASSERT_TRUE(undone) << undone.error().text;
  }
  EXPECT_EQ(state(), before);
  EXPECT_FALSE(reverse_entry(desk(), entries[0], "again"));
  expect_closes();
}

TEST_P(ByHand, SuspectsOfAPartAreAllThatWasPressedFromItAndFromWhatGrewFromIt) {
  set_up();
  EXPECT_EQ(suspects_of_part(record_, stamper_a, "scratch").error().fault, Fault::conflict);
  pressed(30);
  std::string mother;
  EXPECT_TRUE(record_.read([&](ledger::Reader& reader) {
    mother = ledger::text(ledger::at(reader.need("part", stamper_a), "parent"));
  }));
  for (const std::string& part : {stamper_a, stamper_b, mother}) {
    const auto suspects = suspects_of_part(record_, part, "scratch");
    ASSERT_TRUE(suspects) << suspects.error().text;
    EXPECT_EQ(suspects->impressions, (std::vector<works::Impressions>{{1, 30}}));
  }
  EXPECT_FALSE(suspects_of_part(record_, stamper_a, ""));
  const auto held = quarantine(desk(), *suspects_of_part(record_, mother, "scratch"), false);
  EXPECT_EQ(held->discs, 30);
  expect_closes();
}

}  // namespace
}  // namespace goodside::line
