#include "ledger/test_stores.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <atomic>
#include <stdexcept>

#include "intake/safe_file.hpp"

namespace goodside::ledger::test {
namespace {

std::string server() {
  auto where = intake::read_whole(GOODSIDE_TEST_POSTGRES);
  if (!where)
    throw std::runtime_error{
        "the tests' PostgreSQL server does not run; CTest starts it, or "
        "tests/ledger/postgres_server start " GOODSIDE_TEST_POSTGRES};
  while (!where->empty() && where->back() == '\n') where->pop_back();
  return *where;
}

template <class T>
T must(Result<T> result) {
  if (!result) throw std::runtime_error{result.error().text};
  return std::move(*result);
}

}  // namespace

TestStore::TestStore(Connection::Kind kind) : kind_{kind} {
  static std::atomic<int> made{0};
  schema_ = "t" + std::to_string(getpid()) + "_" + std::to_string(made++);
  folder_ = std::filesystem::temp_directory_path() / ("goodside-ledger-" + schema_);
  std::filesystem::create_directories(folder_);
  if (kind == Connection::Kind::sqlite) {
    where_ = file("record.db");
    return;
  }
  must(connect(server(), false))
      ->script("DROP SCHEMA IF EXISTS " + schema_ + " CASCADE; CREATE SCHEMA " + schema_);
  where_ = server() + "?options=-csearch_path%3D" + schema_;
}

TestStore::~TestStore() {
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
  if (kind_ == Connection::Kind::postgresql) try {
      must(connect(server(), false))->script("DROP SCHEMA " + schema_ + " CASCADE");
    } catch (const std::exception& error) {
      ADD_FAILURE() << error.what();
    }
}

Record TestStore::open() const {
  return must(Record::open(where_, true));
}

std::unique_ptr<Connection> TestStore::connection() const {
  return must(connect(where_, true));
}

std::string kind_name(Connection::Kind kind) {
  return kind == Connection::Kind::sqlite ? "Sqlite" : "Postgresql";
}

SmallWorks make_small_works(Record& record, std::int64_t impressions) {
  using works::kind_of_table;
  SmallWorks made;
  must(record.write({morning_ms, "Ida", "set up"}, [&](Writer& writer) {
    made.title = writer.add(kind_of_table("title"), {{"name", "Fallen Leaves"}});
    made.side = writer.add(kind_of_table("side"), {{"title", made.title}, {"letter", "A"}});
    made.order = writer.add(kind_of_table("orders"),
                            {{"title", made.title}, {"quantity", std::int64_t{500}}});
    made.press = writer.add(kind_of_table("press"), {{"name", "Press 1"}});
    made.stamper = writer.add(
        kind_of_table("part"),
        {{"kind", "stamper"}, {"side", made.side}, {"origin", "bought"}, {"state", "on press"}});
    made.mounting = writer.add(
        kind_of_table("mounting"),
        {{"press", made.press}, {"stamper_a", made.stamper}, {"counter_from", std::int64_t{0}}});
    made.run = writer.add(kind_of_table("run"),
                          {{"order", made.order}, {"title", made.title}, {"press", made.press}});
  }));
  if (impressions == 0) return made;
  must(record.write({morning_ms + 1, "Ida", "press"}, [&](Writer& writer) {
    writer.add(kind_of_table("pressing"),
               {{"run", made.run},
                {"mounting", made.mounting},
                {"first", std::int64_t{1}},
                {"last", impressions}});
    writer.post({made.run,
                 {1, impressions},
                 impressions,
                 {works::Place::press, "", "", {}},
                 {works::Place::pressed, "", "", {}}});
  }));
  return made;
}

}  // namespace goodside::ledger::test
