#include "ledger/connection.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <thread>

#include "ledger/stores.hpp"
#include "ledger/test_stores.hpp"

namespace goodside::ledger {
namespace {

class Store : public testing::TestWithParam<Connection::Kind> {
 protected:
  test::TestStore store_{GetParam()};
};
INSTANTIATE_TEST_SUITE_P(Both, Store, testing::ValuesIn(test::both), [](const auto& tested) {
  return test::kind_name(tested.param);
});

StoreFault fault_of(const std::function<void()>& act) {
  try {
    act();
  } catch (const StoreFailure& failure) {
    return failure.fault();
  }
  ADD_FAILURE() << "nothing was refused";
  return StoreFault::other;
}

TEST_P(Store, GivesBackEveryValueAsItWas) {
  const auto connection = store_.connection();
  connection->script(
      "CREATE TABLE cell (n INTEGER PRIMARY KEY NOT NULL, i INTEGER, d REAL, t TEXT, b BLOB) "
      "STRICT");
  Bytes all_bytes;
  for (int byte = 0; byte < 256; ++byte) all_bytes.push_back(static_cast<std::byte>(byte));
  const std::vector<Values> rows{
      {std::int64_t{1}, {}, {}, {}, {}},
      {std::int64_t{2}, std::numeric_limits<std::int64_t>::min(), 0.1, std::string{}, Bytes{}},
      {std::int64_t{3},
       std::numeric_limits<std::int64_t>::max(),
       -4.9e-324,
       std::string{"Grüße ⇥\t\n'\";--\\ 33⅓"},
       all_bytes},
      {std::int64_t{4},
       std::int64_t{0},
       1.7976931348623157e308,
       std::string(100'000, 'x'),
       Bytes{}},
      {std::int64_t{5}, std::int64_t{-1}, 2.0, std::string{"2"}, Bytes{}},
  };
  for (const Values& row : rows)
    connection->run("INSERT INTO cell (n, i, d, t, b) VALUES ($1, $2, $3, $4, $5)", row);
  EXPECT_EQ(connection->ask("SELECT n, i, d, t, b FROM cell ORDER BY n"), rows);
  const auto id = connection->ask("INSERT INTO cell (n, i) VALUES ($1, $2) RETURNING n",
                                  {std::int64_t{6}, std::int64_t{9}});
  EXPECT_EQ(whole(id.at(0).at(0)), 6);
  EXPECT_EQ(whole(connection->ask("SELECT sum(i) FROM cell WHERE n IN (5, 6)").at(0).at(0)), 8);
}

TEST_P(Store, RefusesNumbersThatAreNotFinite) {
  const auto connection = store_.connection();
  connection->script("CREATE TABLE cell (d REAL) STRICT");
  for (const double wrong : {std::nan(""), HUGE_VAL, -HUGE_VAL})
    EXPECT_EQ(fault_of([&] { connection->run("INSERT INTO cell (d) VALUES ($1)", {wrong}); }),
              StoreFault::check);
}

TEST_P(Store, TellsItsRefusalsApart) {
  const auto connection = store_.connection();
  connection->script(
      "CREATE TABLE parent (n INTEGER PRIMARY KEY NOT NULL) STRICT;"
      "CREATE TABLE child (n INTEGER PRIMARY KEY NOT NULL, parent INTEGER NOT NULL REFERENCES "
      "parent (n), q INTEGER CHECK (q > 0)) STRICT");
  const auto insert = [&](Value n, Value parent, Value q) {
    return fault_of([&] {
      connection->run("INSERT INTO child (n, parent, q) VALUES ($1, $2, $3)",
                      {std::move(n), std::move(parent), std::move(q)});
    });
  };
  connection->run("INSERT INTO parent (n) VALUES ($1)", {std::int64_t{1}});
  connection->run("INSERT INTO child (n, parent, q) VALUES (1, 1, 1)");
  EXPECT_EQ(insert(std::int64_t{1}, std::int64_t{1}, std::int64_t{1}), StoreFault::unique);
  EXPECT_EQ(insert(std::int64_t{2}, std::int64_t{9}, std::int64_t{1}), StoreFault::foreign);
  EXPECT_EQ(insert(std::int64_t{2}, std::int64_t{1}, std::int64_t{0}), StoreFault::check);
  EXPECT_EQ(insert(std::int64_t{2}, {}, std::int64_t{1}), StoreFault::check);
  EXPECT_EQ(insert(std::string{"two"}, std::int64_t{1}, std::int64_t{1}), StoreFault::check);
  EXPECT_EQ(fault_of([&] { connection->run("DELETE FROM parent"); }), StoreFault::foreign);
}

TEST_P(Store, TakesBackAWholeTransaction) {
  const auto connection = store_.connection();
  connection->script("CREATE TABLE cell (n INTEGER) STRICT");
  connection->begin_write();
  connection->run("INSERT INTO cell (n) VALUES (1)");
  connection->roll_back();
  EXPECT_TRUE(connection->ask("SELECT n FROM cell").empty());
  connection->begin_write();
  connection->run("INSERT INTO cell (n) VALUES (2)");
  connection->commit();
  EXPECT_EQ(whole(connection->ask("SELECT n FROM cell").at(0).at(0)), 2);
}

// Read, decide, write: without a lock from the beginning, counts would be lost.
TEST_P(Store, WritersStandInLine) {
  store_.connection()->script("CREATE TABLE cell (n INTEGER) STRICT; INSERT INTO cell VALUES (0)");
  constexpr int each = 40;
  const auto count = [&] {
    const auto connection = store_.connection();
    for (int i = 0; i < each; ++i) {
      connection->begin_write();
      const auto now = whole(connection->ask("SELECT n FROM cell").at(0).at(0));
      connection->run("UPDATE cell SET n = $1", {now + 1});
      connection->commit();
    }
  };
  std::vector<std::thread> stations;
  for (int i = 0; i < 3; ++i) stations.emplace_back(count);
  for (auto& station : stations) station.join();
  EXPECT_EQ(whole(store_.connection()->ask("SELECT n FROM cell").at(0).at(0)), 3 * each);
}

TEST_P(Store, AReaderKeepsItsViewWhileOthersWrite) {
  const auto reader = store_.connection(), writer = store_.connection();
  writer->script("CREATE TABLE cell (n INTEGER) STRICT; INSERT INTO cell VALUES (1)");
  reader->begin_read();
  EXPECT_EQ(whole(reader->ask("SELECT n FROM cell").at(0).at(0)), 1);
  writer->run("UPDATE cell SET n = 2");
  EXPECT_EQ(whole(reader->ask("SELECT n FROM cell").at(0).at(0)), 1);
  reader->roll_back();
  EXPECT_EQ(whole(reader->ask("SELECT n FROM cell").at(0).at(0)), 2);
}

TEST(Connect, RefusesAFileThatIsNoRecordAndAServerThatIsNotThere) {
  const test::TestStore store{Connection::Kind::sqlite};
  const std::string path = store.file("other.db");
  std::FILE* file = std::fopen(path.c_str(), "wb");
  for (int i = 0; i < 5000; ++i) std::fputs("this is no record ", file);
  std::fclose(file);
  const auto other = connect(path, false);
  ASSERT_FALSE(other.has_value());
  EXPECT_EQ(other.error().fault, Fault::bad_input);
  EXPECT_FALSE(connect(store.file("missing.db"), false).has_value());
  EXPECT_FALSE(connect(store.file("no/such/folder.db"), true).has_value());
  const auto nobody = connect("postgresql://nobody@%2Fno%2Fsuch%2Fsocket/none", false);
  ASSERT_FALSE(nobody.has_value());
  EXPECT_EQ(nobody.error().fault, Fault::io);
}

TEST(PostgresqlWords, TranslatesWholeWordsOnly) {
  EXPECT_EQ(postgresql_words("CREATE TABLE a (n INTEGER, REALM BLOB) STRICT;"),
            "CREATE TABLE a (n BIGINT, REALM BYTEA) ;");
}

}  // namespace
}  // namespace goodside::ledger
