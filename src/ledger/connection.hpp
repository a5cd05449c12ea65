#pragma once
#include <functional>
#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "ledger/value.hpp"

namespace goodside::ledger {

/// What a store refused, as both libraries tell it.
enum class StoreFault {
  again,    ///< another writer was in the way: the whole transaction may be tried again
  unique,   ///< the key is taken
  foreign,  ///< it names a row that is not there, or one that others still name
  check,    ///< a value that the table does not take
  full,     ///< no room left, or no right to write
  corrupt,  ///< the file is no record, or is damaged
  other
};

/// Thrown inside the ledger alone; Record turns it into an Error at its border.
class StoreFailure : public std::runtime_error {
 public:
  StoreFailure(StoreFault fault, const std::string& what)
      : std::runtime_error{what}, fault_{fault} {}
  [[nodiscard]] StoreFault fault() const { return fault_; }

 private:
  StoreFault fault_;
};

/// One connection to a SQLite file or a PostgreSQL database, used by one thread. SQL is the same
/// for both: parameters are $1, $2 … in the order of their first use; tables are written in
/// SQLite's words (INTEGER, REAL, TEXT, BLOB, STRICT), which `script` translates. Statements are
/// prepared once and kept. Every function throws StoreFailure.
class Connection {
 public:
  enum class Kind { sqlite, postgresql };
  using TakeRow = std::function<void(const Values&)>;

  virtual ~Connection() = default;
  [[nodiscard]] virtual Kind kind() const = 0;

  /// Hands each row of the answer to `take`, which must not use the connection.
  virtual void each(std::string_view sql, const Values& parameters, const TakeRow& take) = 0;
  /// Statements without parameters or answers, separated by semicolons: tables and indexes.
  virtual void script(std::string_view sql) = 0;

  /// BEGIN IMMEDIATE, or SERIALIZABLE under a lock: writers stand in line, so that no two ever
  /// decide on the same state. Waits at most some ten seconds, then StoreFault::again.
  virtual void begin_write() = 0;
  /// One unchanging view of the record for many questions.
  virtual void begin_read() = 0;
  virtual void commit() = 0;
  virtual void roll_back() noexcept = 0;

  /// Whether the store finds its own file whole; the first complaint, or an empty text.
  virtual std::string integrity_complaint(bool thorough) = 0;
  /// A consistent copy while others write. SQLite only; the target must not exist.
  virtual void copy_to(const std::string& path) = 0;

  std::vector<Values> ask(std::string_view sql, const Values& parameters = {});
  void run(std::string_view sql, const Values& parameters = {});
};

/// `where` is a path, or a connection string that begins with postgresql:// or postgres://.
/// Errors: Fault::io when it cannot be opened; Fault::bad_input when it is no database.
Result<std::unique_ptr<Connection>> connect(const std::string& where, bool create);

[[nodiscard]] bool names_postgresql(std::string_view where);

}  // namespace goodside::ledger
