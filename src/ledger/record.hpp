#pragma once
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/result.hpp"
#include "ledger/event.hpp"
#include "works/holding.hpp"
#include "works/kind.hpp"

namespace goodside::ledger {

/// Thrown by whoever decides inside Record::write or ::read: the whole entry is then taken back and
/// the Error returned.
struct Refused {
  Error error;
};

[[noreturn]] inline void refuse(Fault fault, std::string text) {
  throw Refused{{fault, std::move(text)}};
}

/// The value, or Refused.
template <class T>
T or_refuse(Result<T> result) {
  if (!result) throw Refused{result.error()};
  return std::move(*result);
}

/// Who does what, when. The clock is read by the caller.
struct Act {
  std::int64_t at_ms{};
  std::string who, what;
  std::string subject{};  ///< code of the thing it is about, where one is known beforehand
  std::optional<std::int64_t> reverses{};
};

/// The questions that both sides of a record answer. Throw Refused and StoreFailure.
class Reader {
 public:
  explicit Reader(Connection& connection) : connection_{connection} {}
  [[nodiscard]] Connection& connection() { return connection_; }
  [[nodiscard]] std::optional<Row> find(std::string_view table, const Value& key);
  /// Refused (not_found) where there is none, (conflict) where it was entered by mistake.
  [[nodiscard]] Row need(std::string_view table, const std::string& code);
  /// Rows whose `column` is `value`, by key.
  [[nodiscard]] std::vector<Row> where(std::string_view table,
                                       std::string_view column,
                                       const Value& value);
  /// Those of them that were not taken back.
  [[nodiscard]] std::vector<Row> standing(std::string_view table,
                                          std::string_view column,
                                          const Value& value);
  /// The one that is named, or all that were not taken back, by code. Refused as by need().
  [[nodiscard]] std::vector<Row> named_or_all(std::string_view table, const std::string& code);
  [[nodiscard]] std::vector<works::Holding> holdings(const std::string& run);
  [[nodiscard]] std::string setting(std::string_view name);

 private:
  Connection& connection_;
};

/// What an entry writes. Everything goes into the entry's body and, through it, into the tables.
class Writer : public Reader {
 public:
  Writer(Connection& connection, const Act& act);

  [[nodiscard]] std::int64_t seq() const { return event_.seq; }
  [[nodiscard]] std::int64_t at_ms() const { return event_.at_ms; }
  /// The entry is about this; the first call counts.
  void about(const std::string& code);

  /// A new noun: takes the next code of its kind unless the row brings one, and an id; fills in
  /// at_ms and who. Returns its code.
  std::string add(const works::Kind& kind, Row row);
  /// A row as it stands from now on; `row` is what find() gave, altered.
  void alter(std::string_view table, Row row);
  void set(const std::string& name, const std::string& value);
  /// A movement of discs; Refused where the stock does not allow it.
  void post(const works::Movement& movement,
            std::optional<std::int64_t> at_ms = {},
            std::optional<std::int64_t> reverses = {});
  /// The run's stock as it stands with all that was posted here.
  [[nodiscard]] const works::RunStock& stock(const std::string& run);

  Head finish();  ///< Record calls it, before the commit

 private:
  struct Stock {
    std::vector<works::Holding> before;
    works::RunStock now;
  };
  Stock& stock_of(const std::string& run);
  std::string next_code(const works::Kind& kind);
  void write(Change change);

  Event event_;
  std::int64_t movements_{};
  std::map<std::string, Stock> stocks_;
};

/// A works' record in either store.
class Record {
 public:
  /// Opens, brings the tables forward, and looks whether the store and the newest entry are whole
  /// (a file of more than 64 MB is looked through by check() alone). Errors: Fault::io,
  /// Fault::bad_input.
  static Result<Record> open(const std::string& where, bool create);

  /// One entry, all or nothing, acknowledged when it is on the disk. `decide` may run again after a
  /// clash with another writer, from a fresh state. An entry without any change is not written.
  Result<Head> write(const Act& act, const std::function<void(Writer&)>& decide);
  /// Questions on one unchanging state.
  Outcome read(const std::function<void(Reader&)>& ask);

  [[nodiscard]] Connection& connection() { return *connection_; }

 private:
  explicit Record(std::unique_ptr<Connection> connection) : connection_{std::move(connection)} {}
  std::unique_ptr<Connection> connection_;
};

/// Puts one change into its table, as entry `seq`. Throws StoreFailure.
void apply(Connection& connection, const Change& change, std::int64_t seq);
/// The movement of a change, as the tables keep it. Throws StoreFailure where it is none.
[[nodiscard]] works::Movement movement_of(const Row& row);
/// All movements of a run, in the order of the log.
[[nodiscard]] std::vector<works::Movement> movements_of(Connection& connection,
                                                        const std::string& run);
/// Brings the table of holdings from one state of a run to another.
void store_holdings(Connection& connection,
                    const std::string& run,
                    const std::vector<works::Holding>& before,
                    const std::vector<works::Holding>& after);

/// A StoreFailure in words for the person at the press.
[[nodiscard]] Error told(const StoreFailure& failure);

}  // namespace goodside::ledger
