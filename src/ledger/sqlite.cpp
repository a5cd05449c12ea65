#include <fmt/format.h>
#include <sqlite3.h>

#include <cmath>
#include <map>

#include "ledger/stores.hpp"

namespace goodside::ledger {
namespace {

constexpr int busy_wait_ms = 10'000;

StoreFault fault_of(int code) {
  switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return StoreFault::again;
    case SQLITE_FULL:
    case SQLITE_IOERR:
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
      return StoreFault::full;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_FORMAT:
      return StoreFault::corrupt;
    case SQLITE_MISMATCH:
      return StoreFault::check;
    case SQLITE_CONSTRAINT:
      switch (code) {
        case SQLITE_CONSTRAINT_UNIQUE:
        case SQLITE_CONSTRAINT_PRIMARYKEY:
        case SQLITE_CONSTRAINT_ROWID:
          return StoreFault::unique;
        case SQLITE_CONSTRAINT_FOREIGNKEY:
          return StoreFault::foreign;
        default:
          return StoreFault::check;
      }
    default:
      return StoreFault::other;
  }
}

struct CloseStatement {
  void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
struct CloseDatabase {
  void operator()(sqlite3* database) const { sqlite3_close(database); }
};

class Sqlite final : public Connection {
 public:
  Sqlite(const std::string& path, bool create) : path_{path} {
    sqlite3* opened = nullptr;
    const int flags = SQLITE_OPEN_READWRITE | (create ? SQLITE_OPEN_CREATE : 0);
    const int code = sqlite3_open_v2(path.c_str(), &opened, flags, nullptr);
    database_.reset(opened);
    if (code != SQLITE_OK) fail(code);
    sqlite3_extended_result_codes(opened, 1);
    sqlite3_busy_timeout(opened, busy_wait_ms);
    script(
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
        "PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON; PRAGMA cache_size=-65536");
  }

  [[nodiscard]] Kind kind() const override { return Kind::sqlite; }

  void each(std::string_view sql, const Values& parameters, const TakeRow& take) override {
    sqlite3_stmt* const statement = prepared(sql);
    const Reset reset{statement};
    for (std::size_t i = 0; i < parameters.size(); ++i)
      bind(statement, static_cast<int>(i) + 1, parameters[i]);
    Values row(static_cast<std::size_t>(sqlite3_column_count(statement)));
    while (true) {
      const int code = sqlite3_step(statement);
      if (code == SQLITE_DONE) return;
      if (code != SQLITE_ROW) fail(code);
      for (std::size_t i = 0; i < row.size(); ++i) row[i] = cell(statement, static_cast<int>(i));
      take(row);
    }
  }

  void script(std::string_view sql) override {
    const std::string text{sql};
    if (const int code = sqlite3_exec(database_.get(), text.c_str(), nullptr, nullptr, nullptr))
      fail(code);
  }

  void begin_write() override { script("BEGIN IMMEDIATE"); }
  void begin_read() override { script("BEGIN"); }
  void commit() override { script("COMMIT"); }
  void roll_back() noexcept override {
    if (sqlite3_get_autocommit(database_.get()) == 0)
      sqlite3_exec(database_.get(), "ROLLBACK", nullptr, nullptr, nullptr);
  }

  std::string integrity_complaint(bool thorough) override {
    const auto rows = ask(thorough ? "PRAGMA integrity_check(1)" : "PRAGMA quick_check(1)");
    const std::string said = rows.empty() ? "no answer" : text(rows[0][0]);
    return said == "ok" ? "" : said;
  }

  void copy_to(const std::string& path) override { run("VACUUM INTO $1", {path}); }

 private:
  struct Reset {
    sqlite3_stmt* statement;
    ~Reset() {
      sqlite3_reset(statement);
      sqlite3_clear_bindings(statement);
    }
  };

  [[noreturn]] void fail(int code) const {
    const StoreFault fault = fault_of(code);
    const char* said = database_ ? sqlite3_errmsg(database_.get()) : sqlite3_errstr(code);
    switch (fault) {
      case StoreFault::full:
        throw StoreFailure{fault,
                           fmt::format("{}: cannot be opened or written ({}); is the disk full, "
                                       "the folder there and yours to write?",
                                       path_,
                                       said)};
      case StoreFault::corrupt:
        throw StoreFailure{
            fault,
            fmt::format(
                "{}: is no record, or is damaged ({}); restore the last backup", path_, said)};
      default:
        throw StoreFailure{fault, fmt::format("{}: {}", path_, said)};
    }
  }

  sqlite3_stmt* prepared(std::string_view sql) {
    const auto known = statements_.find(sql);
    if (known != statements_.end()) return known->second.get();
    sqlite3_stmt* made = nullptr;
    const int code = sqlite3_prepare_v3(database_.get(),
                                        sql.data(),
                                        static_cast<int>(sql.size()),
                                        SQLITE_PREPARE_PERSISTENT,
                                        &made,
                                        nullptr);
    if (code != SQLITE_OK) fail(code);
    return statements_.emplace(std::string{sql}, Statement{made}).first->second.get();
  }

  void bind(sqlite3_stmt* statement, int at, const Value& value) const {
    struct Binder {
      sqlite3_stmt* statement;
      int at;
      int operator()(std::monostate) const { return sqlite3_bind_null(statement, at); }
      int operator()(std::int64_t number) const {
        return sqlite3_bind_int64(statement, at, number);
      }
      int operator()(double number) const {
        if (!std::isfinite(number))
          throw StoreFailure{StoreFault::check, "a number that is not finite cannot be stored"};
        return sqlite3_bind_double(statement, at, number);
      }
      int operator()(const std::string& words) const {
        return sqlite3_bind_text64(
            statement, at, words.data(), words.size(), SQLITE_STATIC, SQLITE_UTF8);
      }
      int operator()(const Bytes& bytes) const {
        return bytes.empty()
                   ? sqlite3_bind_zeroblob(statement, at, 0)
                   : sqlite3_bind_blob64(statement, at, bytes.data(), bytes.size(), SQLITE_STATIC);
      }
    };
    if (const int code = std::visit(Binder{statement, at}, value); code != SQLITE_OK) fail(code);
  }

  static Value cell(sqlite3_stmt* statement, int at) {
    const auto size = [&] { return static_cast<std::size_t>(sqlite3_column_bytes(statement, at)); };
    switch (sqlite3_column_type(statement, at)) {
      case SQLITE_INTEGER:
        return std::int64_t{sqlite3_column_int64(statement, at)};
      case SQLITE_FLOAT:
        return sqlite3_column_double(statement, at);
      case SQLITE_TEXT: {
        const auto* letters = reinterpret_cast<const char*>(sqlite3_column_text(statement, at));
        return std::string(letters, size());
      }
      case SQLITE_BLOB: {
        const auto* bytes = static_cast<const std::byte*>(sqlite3_column_blob(statement, at));
        return bytes == nullptr ? Bytes{} : Bytes(bytes, bytes + size());
      }
      default:
        return {};
    }
  }

  using Statement = std::unique_ptr<sqlite3_stmt, CloseStatement>;
  std::string path_;
  std::unique_ptr<sqlite3, CloseDatabase> database_;
  std::map<std::string, Statement, std::less<>> statements_;
};

}  // namespace

std::unique_ptr<Connection> open_sqlite(const std::string& path, bool create) {
  return std::make_unique<Sqlite>(path, create);
}

}  // namespace goodside::ledger
