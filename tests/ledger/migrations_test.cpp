#include "ledger/migrations.hpp"

#include <gtest/gtest.h>

#include <set>

#include "ledger/check.hpp"
#include "ledger/test_stores.hpp"

namespace goodside::ledger {
namespace {

class Migrations : public testing::TestWithParam<Connection::Kind> {
 protected:
  test::TestStore store_{GetParam()};
};
INSTANTIATE_TEST_SUITE_P(Both, Migrations, testing::ValuesIn(test::both), [](const auto& tested) {
  return test::kind_name(tested.param);
});

TEST_P(Migrations, EveryEarlierVersionIsBroughtForwardAndWorks) {
  for (const Migration& from : migrations()) {
    const test::TestStore store{GetParam()};
    const auto old = store.connection();
    ASSERT_TRUE(migrate(*old, from.version).has_value());
    EXPECT_EQ(version_of(*old), from.version);
    // Whatever an earlier program wrote is still there afterwards.
    old->run("INSERT INTO setting (name, value, event) VALUES ('works', 'Old', 1)");
    Event first{.seq = 1, .at_ms = 5, .who = "Ida", .what = "set up", .subject = "works"};
    first.body = "setting\t0\tname=tworks\tvalue=tOld\n";
    first.previous = Head{}.hash;
    first.hash = hash_of(first);
    append(*old, first);

    Record record = store.open();
    EXPECT_EQ(version_of(record.connection()), migrations().back().version);
    test::make_small_works(record, 10);
    const Checked checked = check(record.connection(), {});
    EXPECT_TRUE(checked.closes()) << checked.breaks.front();
    EXPECT_EQ(checked.head.seq, 3);
  }
}

TEST_P(Migrations, TheTablesHaveTheColumnsThatTheRecordUses) {
  Record record = store_.open();
  for (const Shape& shape : shapes()) {
    std::string columns;
    for (const std::string& column : shape.columns)
      columns += (columns.empty() ? "\"" : ", \"") + column + "\"";
    EXPECT_NO_THROW(record.connection().ask("SELECT " + columns + " FROM " + shape.table))
        << shape.table;
  }
}

TEST_P(Migrations, ANewerRecordIsRefused) {
  store_.open().connection().run("INSERT INTO version (version) VALUES (999)");
  const auto refused = Record::open(store_.where(), false);
  ASSERT_FALSE(refused.has_value());
  EXPECT_NE(refused.error().text.find("999"), std::string::npos);
}

}  // namespace
}  // namespace goodside::ledger
