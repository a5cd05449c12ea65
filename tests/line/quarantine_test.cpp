#include "line/quarantine.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "line/record_desk.hpp"
#include "line/reverse_entry.hpp"

namespace goodside::line {
namespace {

using testing::HasSubstr;
using works::Place;

/// Two hundred discs: 1-25 shipped, 26-50 in a closed carton, the rest good on the shelf.
class QuarantineOfRecord : public test::RecordDesk {
 protected:
  void set_up_stock() {
    set_up();
    pressed(200);
    EXPECT_TRUE(move_discs(desk(), {.run = run}, {Place::good_stock, "", "", {}}));
    gone = pack({1, 25});
    kept = pack({26, 50});
    shipment = add("shipment", {{"order", order}, {"to", "Bath"}});
    EXPECT_TRUE(ship(desk(), shipment, {gone}));
  }
  std::string pack(const works::Impressions& which) {
    const std::string carton = add("carton", {{"order", order}, {"capacity", "25"}});
    EXPECT_TRUE(
        move_discs(desk(), {.run = run, .impressions = which}, {Place::packed, carton, "", {}}));
    EXPECT_TRUE(close_unit(desk(), {.unit = carton, .counted = 25}));
    return carton;
  }
  SuspectOrder suspects(std::vector<works::Impressions> impressions, int fault = 3) {
    std::string side;
    EXPECT_TRUE(record_.read([&](ledger::Reader& reader) {
      side = ledger::text(ledger::at(reader.where("side", "title", title).front(), "code"));
    }));
    return {.side = side,
            .fault = fault,
            .impressions = std::move(impressions),
            .reason = "fault 3: tick at 3:12"};
  }
  std::int64_t entries() { return ledger::check(record_.connection(), {}).entries; }

  std::string gone, kept, shipment;
};
FOR_BOTH_STORES(QuarantineOfRecord);

TEST_P(QuarantineOfRecord, ATrialCountsDiscsCartonsAndShipmentsAndMovesNothing) {
  set_up_stock();
  const auto before = entries();
  const auto seen = quarantine(desk(), suspects({{11, 60}, {101, 110}}), true);
  ASSERT_TRUE(seen) << seen.error().text;
  EXPECT_EQ(seen->discs, 25 + 10 + 10);
  EXPECT_EQ(seen->cartons, (std::vector{kept}));
  ASSERT_EQ(seen->shipped.size(), 1U);
  EXPECT_EQ(seen->shipped[0].shipment, shipment);
  EXPECT_EQ(seen->shipped[0].to, "Bath");
  EXPECT_EQ(seen->shipped[0].cartons, (std::vector{gone}));
  EXPECT_EQ(seen->shipped[0].discs, 15);
  EXPECT_EQ(seen->gone, 15);
  EXPECT_FALSE(seen->head);
  EXPECT_EQ(entries(), before);
  EXPECT_EQ(discs_in("suspect"), 0);
}

TEST_P(QuarantineOfRecord, OneEntryMovesAllOfItAndTheCountCloses) {
  set_up_stock();
  const auto before = entries();
  const auto done = quarantine(desk(), suspects({{11, 60}, {101, 110}}), false);
  ASSERT_TRUE(done) << done.error().text;
  EXPECT_EQ(done->discs, 45);
  ASSERT_TRUE(done->head);
  EXPECT_EQ(entries(), before + 1);
  EXPECT_EQ(discs_in("suspect"), 45);
  EXPECT_EQ(discs_in("shipped"), 25);
  expect_closes();
  const auto event = ledger::event_of(record_.connection(), done->head->seq);
  ASSERT_TRUE(event);
  EXPECT_THAT(event->what, HasSubstr("fault 3: tick at 3:12"));
  EXPECT_FALSE(
      ship(desk(), add("shipment", {{"order", order}, {"to", "Bath"}}), {kept}).has_value());
}

TEST_P(QuarantineOfRecord, ASecondCallMovesAndEntersNothing) {
  set_up_stock();
  ASSERT_TRUE(quarantine(desk(), suspects({{11, 60}}), false));
  const auto before = entries();
  const auto again = quarantine(desk(), suspects({{11, 60}}), false);
  ASSERT_TRUE(again);
  EXPECT_EQ(again->discs, 0);
  EXPECT_EQ(again->already, 35);
  EXPECT_TRUE(again->movements.empty());
  EXPECT_FALSE(again->head);
  EXPECT_EQ(entries(), before);
}

TEST_P(QuarantineOfRecord, IsTakenBackByReverse) {
  set_up_stock();
  const auto done = quarantine(desk(), suspects({{11, 60}}), false);
  ASSERT_TRUE(done);
  ASSERT_TRUE(reverse_entry(desk(), done->head->seq, "heard again, all clean"));
  EXPECT_EQ(discs_in("suspect"), 0);
  EXPECT_EQ(discs_in("packed"), 25);
  EXPECT_EQ(discs_in("good stock"), 150);
  expect_closes();
}

// Another run of the title goes on in the title's count.
TEST_P(QuarantineOfRecord, ReachesEveryRunOfTheTitle) {
  set_up_stock();
  run = add("run", {{"order", order}, {"press", press}});
  pressed(100);
  const auto done = quarantine(desk(), suspects({{191, 210}}), false);
  ASSERT_TRUE(done) << done.error().text;
  EXPECT_EQ(done->discs, 20);
  ASSERT_EQ(done->movements.size(), 2U);
  EXPECT_NE(done->movements[0].run, done->movements[1].run);
  EXPECT_EQ(done->movements[1].impressions, (works::Impressions{1, 10}));
  expect_closes();
}

// Stock of which only the range is known may hold the discs, and is held whole.
TEST_P(QuarantineOfRecord, HoldsAllThatMayBeAmongThem) {
  set_up_stock();
  const std::string carton = add("carton", {{"order", order}, {"capacity", "25"}});
  ASSERT_TRUE(move_discs(desk(),
                         {.run = run, .impressions = works::Impressions{51, 200}, .quantity = 10},
                         {Place::packed, carton, "", {}}));
  const auto done = quarantine(desk(), suspects({{60, 61}}), false);
  ASSERT_TRUE(done) << done.error().text;
  EXPECT_EQ(done->discs, 150);
  EXPECT_THAT(done->cartons, testing::Contains(carton));
  expect_closes();
}

// A good sample lets go what waited for it, but nothing that a trace has made suspect.
TEST_P(QuarantineOfRecord, StandsWhenASampleIsHeardToBeGood) {
  set_up();
  pressed(100);
  const auto pulled =
      pull_sample(desk(), {.run = run, .first = 100, .last = 100, .reason = "sample"});
  ASSERT_TRUE(pulled);
  ASSERT_EQ(pulled->held, 99);
  const auto done = quarantine(desk(), suspects({{1, 20}}), false);
  ASSERT_TRUE(done) << done.error().text;
  EXPECT_EQ(done->kept, 20);
  EXPECT_EQ(done->discs, 0);
  ASSERT_TRUE(hear_sample(desk(), {.ticket = pulled->entered.code, .good = true}));
  EXPECT_EQ(discs_in("suspect"), 20);
  const auto again = quarantine(desk(), suspects({{1, 20}}), false);
  EXPECT_TRUE(again.value().movements.empty());
  expect_closes();
}

TEST_P(QuarantineOfRecord, RefusesASideThatIsNotThere) {
  set_up_stock();
  auto order_of_none = suspects({{1, 5}});
  order_of_none.side = "SD-0099-X";
  EXPECT_EQ(quarantine(desk(), order_of_none, false).error().fault, Fault::not_found);
  EXPECT_EQ(discs_in("suspect"), 0);
}

TEST(SuspectOrders, NameTheFaultAndSayWhatIsWrongWithATrace) {
  works::TraceReport trace;
  EXPECT_THAT(suspect_order(trace, 1, "").error().text, HasSubstr("no recurring fault"));
  works::RecurringFault fault;
  fault.id = 2;
  fault.programme_s = 192.0;
  fault.cause.level = works::CauseLevel::stamper;
  fault.cause.id = "P-00004-K";
  trace.recurring = {fault};
  EXPECT_THAT(suspect_order(trace, 1, "").error().text, HasSubstr("it holds 2"));
  EXPECT_THAT(suspect_order(trace, 2, "").error().text, HasSubstr("family file"));
  trace.works_side = "SD-0001-A";
  EXPECT_THAT(suspect_order(trace, 2, "SD-0002-8").error().text, HasSubstr("is of side SD-0001-A"));
  EXPECT_THAT(suspect_order(trace, 2, "").error().text, HasSubstr("no stock suspect"));
  trace.recurring[0].suspect.impressions = {{1, 9}};
  const auto order = suspect_order(trace, 2, "");
  ASSERT_TRUE(order) << order.error().text;
  EXPECT_EQ(order->reason, "fault 2 of SD-0001-A: Tick at 3:12.0, side A, stamper P-00004-K");
}

}  // namespace
}  // namespace goodside::line
