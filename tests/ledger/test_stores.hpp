#pragma once
#include <filesystem>
#include <string>

#include "ledger/record.hpp"

namespace goodside::ledger::test {

/// An empty record of one kind for one test, gone afterwards: a file in a folder of its own, or a
/// schema of its own on the tests' server.
class TestStore {
 public:
  explicit TestStore(Connection::Kind kind);
  TestStore(const TestStore&) = delete;
  TestStore& operator=(const TestStore&) = delete;
  ~TestStore();

  [[nodiscard]] const std::string& where() const { return where_; }
  [[nodiscard]] Connection::Kind kind() const { return kind_; }
  /// A folder of the test's own, for whatever else it writes.
  [[nodiscard]] std::string file(const std::string& name) const {
    return (folder_ / name).string();
  }
  [[nodiscard]] Record open() const;  ///< makes it where it is not there
  [[nodiscard]] std::unique_ptr<Connection> connection() const;

 private:
  Connection::Kind kind_;
  std::filesystem::path folder_;
  std::string where_, schema_;
};

/// How googletest names the two kinds.
std::string kind_name(Connection::Kind kind);

inline constexpr Connection::Kind both[] = {Connection::Kind::sqlite, Connection::Kind::postgresql};

/// 2026-11-25 10:00 UTC.
inline constexpr std::int64_t morning_ms = 1'795'600'800'000;

/// A small works with an order, metal, a mounting, and a run with its impressions pressed; all
/// through Record::write, without the jobs of line.
struct SmallWorks {
  std::string title, side, order, press, stamper, mounting, run;
};
SmallWorks make_small_works(Record& record, std::int64_t impressions);

}  // namespace goodside::ledger::test
