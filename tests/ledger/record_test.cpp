#include "ledger/record.hpp"

#include <gtest/gtest.h>

#include "ledger/check.hpp"
#include "ledger/test_stores.hpp"
#include "works/code.hpp"

namespace goodside::ledger {
namespace {

using works::kind_of_table;

class RecordOf : public testing::TestWithParam<Connection::Kind> {
 protected:
  test::TestStore store_{GetParam()};
  Record record_ = store_.open();
};
INSTANTIATE_TEST_SUITE_P(Both, RecordOf, testing::ValuesIn(test::both), [](const auto& tested) {
  return test::kind_name(tested.param);
});

TEST_P(RecordOf, ChainsItsEntriesAndIsFoundWholeByCheck) {
  const auto made = test::make_small_works(record_, 100);
  EXPECT_TRUE(works::checks(made.run));
  const Checked checked = check(record_.connection(), {});
  EXPECT_TRUE(checked.closes()) << checked.breaks.front();
  EXPECT_EQ(checked.entries, 2);
  EXPECT_EQ(checked.impressions, 100);
  const auto second = event_of(record_.connection(), 2), first = event_of(record_.connection(), 1);
  EXPECT_EQ(second->previous, first->hash);
  EXPECT_EQ(first->previous, std::string(64, '0'));
  EXPECT_EQ(head_of(record_.connection()), checked.head);
}

TEST_P(RecordOf, ARefusalLeavesNothingBehind) {
  const auto made = test::make_small_works(record_, 100);
  const Head before = head_of(record_.connection());
  const auto refused = record_.write({test::morning_ms, "Ida", "move"}, [&](Writer& writer) {
    writer.add(kind_of_table("press"), {{"name", "Press 2"}});
    writer.post({made.run,
                 {1, 10},
                 10,
                 {works::Place::pressed, "", "", {}},
                 {works::Place::good_stock, "", "", {}}});
    writer.post({made.run,
                 {5, 14},
                 10,
                 {works::Place::pressed, "", "", {}},
                 {works::Place::good_stock, "", "", {}}});
  });
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(refused.error().fault, Fault::conflict);
  EXPECT_EQ(head_of(record_.connection()), before);
  EXPECT_TRUE(check(record_.connection(), {}).closes());
  EXPECT_EQ(record_.connection().ask("SELECT code FROM press").size(), 1U);
}

TEST_P(RecordOf, AnEntryWithoutChangesIsNotWritten) {
  const Head head = record_.write({1, "Ida", "nothing"}, [](Writer&) {}).value();
  EXPECT_EQ(head, Head{});
}

TEST_P(RecordOf, TheSameHistoryGivesTheSameHeadInEitherStore) {
  test::make_small_works(record_, 250);
  // Alarm: moves only when the text that is hashed moves, and then every old record is broken.
  EXPECT_EQ(head_of(record_.connection()).seq, 2);
  const test::TestStore other{GetParam() == Connection::Kind::sqlite ? Connection::Kind::postgresql
                                                                     : Connection::Kind::sqlite};
  Record twin = other.open();
  test::make_small_works(twin, 250);
  EXPECT_EQ(head_of(record_.connection()), head_of(twin.connection()));
}

TEST_P(RecordOf, TextWithAnythingInItComesBackUnchanged) {
  for (const std::string text : {"'; DROP TABLE title; --",
                                 "\" OR 1=1",
                                 "$1 ?1 :a @b",
                                 "a\\tb\tc\nd",
                                 "%s %n {}",
                                 "Robert'); DELETE FROM event;--",
                                 "Größe ½ 日本"}) {
    std::string code;
    ASSERT_TRUE(record_
                    .write({1, text, "add"},
                           [&](Writer& writer) {
                             code = writer.add(kind_of_table("title"),
                                               {{"name", text}, {"artist", text}, {"note", text}});
                           })
                    .has_value());
    ASSERT_TRUE(record_
                    .read([&](Reader& reader) {
                      const Row row = reader.need("title", code);
                      EXPECT_EQ(ledger::text(at(row, "name")), text);
                      EXPECT_EQ(reader.where("title", "artist", text).size(), 1U);
                      EXPECT_FALSE(reader.find("title", text).has_value());
                    })
                    .has_value());
  }
  EXPECT_TRUE(check(record_.connection(), {}).closes());
  EXPECT_EQ(record_.connection().ask("SELECT code FROM title").size(), 7U);
}

}  // namespace
}  // namespace goodside::ledger
