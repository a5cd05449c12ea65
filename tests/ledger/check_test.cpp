#include "ledger/check.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "ledger/record.hpp"
#include "ledger/test_stores.hpp"

namespace goodside::ledger {
namespace {

using testing::Contains;
using testing::HasSubstr;
using works::kind_of_table;

class Check : public testing::TestWithParam<Connection::Kind> {
 protected:
  Check() {
    for (int n = 0; n < 10; ++n)
      EXPECT_TRUE(record_
                      .write({test::morning_ms + 10 + n, "Ida", "move"},
                             [&](Writer& writer) {
                               writer.post({works_.run,
                                            {1 + 10 * n, 10 + 10 * n},
                                            10,
                                            {works::Place::pressed, "", "", {}},
                                            {works::Place::good_stock, "", "", {}}});
                             })
                      .has_value());
    head_ = head_of(record_.connection());
  }

  std::vector<std::string> after(const std::string& tampering, const CheckOptions& options = {}) {
    EXPECT_TRUE(check(record_.connection(), options).closes());
    if (GetParam() == Connection::Kind::sqlite)
      record_.connection().script("PRAGMA foreign_keys=OFF");
    else
      record_.connection().script("SET session_replication_role = replica");
    record_.connection().script(tampering);
    return check(record_.connection(), options).breaks;
  }

  test::TestStore store_{GetParam()};
  Record record_ = store_.open();
  test::SmallWorks works_ = test::make_small_works(record_, 200);
  Head head_;
};
INSTANTIATE_TEST_SUITE_P(Both, Check, testing::ValuesIn(test::both), [](const auto& tested) {
  return test::kind_name(tested.param);
});

TEST_P(Check, FindsAnEditedRow) {
  EXPECT_THAT(after("UPDATE title SET name = 'Other'"), Contains(HasSubstr("title")));
}
TEST_P(Check, FindsARemovedRow) {
  EXPECT_THAT(after("DELETE FROM mounting"), Contains(HasSubstr("is missing")));
}
TEST_P(Check, FindsAnAddedRow) {
  EXPECT_THAT(
      after("INSERT INTO press (code, id, name, at_ms, event) VALUES ('PR-99-X', 'x', 'n', 1, 2)"),
      Contains(HasSubstr("is in no entry")));
}
TEST_P(Check, FindsAnEditedMovement) {
  EXPECT_THAT(after("UPDATE movement SET quantity = 9 WHERE quantity = 10"),
              Contains(HasSubstr("is not what entry")));
}
TEST_P(Check, FindsARemovedMovement) {
  EXPECT_THAT(after("DELETE FROM movement WHERE \"first\" = 41"),
              Contains(HasSubstr("is missing")));
}
TEST_P(Check, FindsAnEditedEntry) {
  EXPECT_THAT(after("UPDATE event SET who = 'Nobody' WHERE seq = 5"),
              Contains(HasSubstr("entry 5 is not what was written")));
}
TEST_P(Check, FindsARemovedEntry) {
  EXPECT_THAT(after("DELETE FROM event WHERE seq = 6"), Contains("entry 6 is missing"));
}
TEST_P(Check, FindsEditedStock) {
  EXPECT_THAT(after("UPDATE holding SET quantity = 99 WHERE place = 'pressed'"),
              Contains(HasSubstr("does not close")));
}
TEST_P(Check, FindsEditedStockByItsRunOfTheDay) {
  EXPECT_THAT(after("UPDATE holding SET quantity = 99 WHERE place = 'pressed'",
                    {.known_head = {}, .since_ms = test::morning_ms + 15}),
              Contains(HasSubstr("does not close")));
}
TEST_P(Check, FindsADayMovementEditedOrRemoved) {
  EXPECT_THAT(after("UPDATE movement SET quantity = 9 WHERE \"first\" = 91",
                    {.known_head = {}, .since_ms = test::morning_ms + 15}),
              Contains(HasSubstr("is not what entry")));
}

// The tail and all that it made are taken away without a trace: only a head noted before shows it.
TEST_P(Check, FindsACutTailByTheHeadThatWasNoted) {
  const std::string cut =
      "DELETE FROM movement WHERE event = 12; DELETE FROM event WHERE seq = 12;"
      "DELETE FROM holding;"
      "INSERT INTO holding VALUES ('" +
      works_.run + "', 1, 90, 'good stock', '', '', '', 90), ('" + works_.run +
      "', 91, 200, 'pressed', '', '', '', 110)";
  EXPECT_THAT(after(cut, {.known_head = head_, .since_ms = {}}),
              Contains(HasSubstr("tail was cut")));
  EXPECT_TRUE(check(record_.connection(), {}).closes());
}

// Whoever rewrites the whole chain behind an edit cannot keep the head that was noted.
TEST_P(Check, FindsARewrittenChainByTheHeadThatWasNoted) {
  auto last = event_of(record_.connection(), head_.seq);
  last->who = "Nobody";
  const auto breaks = after("UPDATE event SET who = 'Nobody', hash = '" + hash_of(*last) +
                                "' WHERE seq = " + std::to_string(head_.seq),
                            {.known_head = head_, .since_ms = {}});
  EXPECT_THAT(breaks, Contains(HasSubstr("is another than when its head was noted")));
}

TEST_P(Check, CountsTheDiscsByPlace) {
  const Checked checked = check(record_.connection(), {});
  const std::vector<std::pair<std::string, std::int64_t>> expected{{"good stock", 100},
                                                                   {"pressed", 100}};
  EXPECT_EQ(checked.places, expected);
  EXPECT_EQ(checked.movements, 11);
  EXPECT_EQ(checked.runs, 1);
}

TEST_P(Check, TellsAtMostSoManyBreaks) {
  const auto breaks =
      after("DELETE FROM movement", {.known_head = {}, .since_ms = {}, .most_breaks = 3});
  EXPECT_EQ(breaks.size(), 3U);
}

}  // namespace
}  // namespace goodside::ledger
