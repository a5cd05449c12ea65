#include <fmt/format.h>
#include <libpq-fe.h>

#include <charconv>
#include <cmath>
#include <cstring>
#include <map>
#include <utility>

#include "base/expects.hpp"
#include "ledger/stores.hpp"

namespace goodside::ledger {
namespace {

// Object identifiers of the built-in types that our tables and sums yield: pg_type.dat.
constexpr Oid type_bool = 16, type_bytea = 17, type_int8 = 20, type_int2 = 21, type_int4 = 23,
              type_float4 = 700, type_float8 = 701, type_numeric = 1700;

StoreFault fault_of(std::string_view state) {
  if (state == "40001" || state == "40P01" || state == "55P03" || state == "57014")
    return StoreFault::again;
  if (state == "23505") return StoreFault::unique;
  if (state == "23503") return StoreFault::foreign;
  if (state.starts_with("23") || state.starts_with("22")) return StoreFault::check;
  if (state.starts_with("53") || state == "25006" || state == "42501") return StoreFault::full;
  if (state.starts_with("XX")) return StoreFault::corrupt;
  return StoreFault::other;
}

struct CloseConnection {
  void operator()(PGconn* connection) const { PQfinish(connection); }
};
struct ClearAnswer {
  void operator()(PGresult* answer) const { PQclear(answer); }
};
using Answer = std::unique_ptr<PGresult, ClearAnswer>;

/// libpq ends its messages with line ends and repeats the statement below: the first line is ours.
std::string first_line(const char* said) {
  std::string line{said == nullptr ? "" : said};
  if (line.starts_with("ERROR:")) line.erase(0, line.find_first_not_of(' ', 6));
  return line.substr(0, line.find('\n'));
}

template <class Number>
Number number(const char* digits) {
  Number value{};
  const auto end = digits + std::strlen(digits);
  const auto read = std::from_chars(digits, end, value);
  EXPECTS(read.ec == std::errc{} && read.ptr == end);
  return value;
}

Value cell(const PGresult* answer, int row, int column) {
  if (PQgetisnull(answer, row, column) != 0) return {};
  const char* const said = PQgetvalue(answer, row, column);
  switch (PQftype(answer, column)) {
    case type_bool:
      return std::int64_t{*said == 't'};
    case type_int2:
    case type_int4:
    case type_int8:
    case type_numeric:  // sums of int8
      return number<std::int64_t>(said);
    case type_float4:
    case type_float8:
      return number<double>(said);
    case type_bytea: {
      std::size_t size = 0;
      unsigned char* bytes = PQunescapeBytea(reinterpret_cast<const unsigned char*>(said), &size);
      const auto* first = reinterpret_cast<const std::byte*>(bytes);
      Bytes copy(first, first + size);
      PQfreemem(bytes);
      return copy;
    }
    default:
      return std::string(said, static_cast<std::size_t>(PQgetlength(answer, row, column)));
  }
}

/// Parameters in libpq's shape: numbers as text, bytes as they are.
struct Sent {
  explicit Sent(const Values& parameters) {
    kept.reserve(parameters.size());
    for (const Value& value : parameters) std::visit(*this, value);
  }
  void operator()(std::monostate) { add(nullptr, 0, 0); }
  void operator()(std::int64_t value) { keep(fmt::format("{}", value)); }
  void operator()(double value) {
    if (!std::isfinite(value))
      throw StoreFailure{StoreFault::check, "a number that is not finite cannot be stored"};
    keep(fmt::format("{}", value));
  }
  void operator()(const std::string& value) {
    if (value.find('\0') != std::string::npos)
      throw StoreFailure{StoreFault::check, "text with a NUL cannot be stored"};
    add(value.c_str(), static_cast<int>(value.size()), 0);
  }
  void operator()(const Bytes& value) {
    add(value.empty() ? "" : reinterpret_cast<const char*>(value.data()),
        static_cast<int>(value.size()),
        1);
  }
  void keep(std::string digits) {
    kept.push_back(std::move(digits));
    add(kept.back().c_str(), static_cast<int>(kept.back().size()), 0);
  }
  void add(const char* value, int length, int format) {
    values.push_back(value);
    lengths.push_back(length);
    formats.push_back(format);
  }
  std::vector<std::string> kept;
  std::vector<const char*> values;
  std::vector<int> lengths, formats;
};

class Postgresql final : public Connection {
 public:
  explicit Postgresql(const std::string& where) : connection_{PQconnectdb(where.c_str())} {
    if (!connection_ || PQstatus(connection_.get()) != CONNECTION_OK)
      throw StoreFailure{StoreFault::other,
                         fmt::format("the PostgreSQL record cannot be reached ({}); check the "
                                     "connection string and that the server runs",
                                     first_line(PQerrorMessage(connection_.get())))};
    PQsetNoticeProcessor(
        connection_.get(), [](void*, const char*) {}, nullptr);
    script("SET client_encoding='UTF8'; SET lock_timeout='10s'; SET extra_float_digits=1");
  }

  [[nodiscard]] Kind kind() const override { return Kind::postgresql; }

  void each(std::string_view sql, const Values& parameters, const TakeRow& take) override {
    const std::string& name = prepared(sql);
    const Sent sent{parameters};
    if (PQsendQueryPrepared(connection_.get(),
                            name.c_str(),
                            static_cast<int>(parameters.size()),
                            sent.values.data(),
                            sent.lengths.data(),
                            sent.formats.data(),
                            0) != 1)
      fail(nullptr);
    PQsetSingleRowMode(connection_.get());
    const Drain drain{connection_.get()};
    Values row;
    while (const Answer answer{PQgetResult(connection_.get())}) {
      const auto status = PQresultStatus(answer.get());
      if (status != PGRES_SINGLE_TUPLE && status != PGRES_TUPLES_OK && status != PGRES_COMMAND_OK)
        fail(answer.get());
      row.resize(static_cast<std::size_t>(PQnfields(answer.get())));
      for (int at = 0; at < PQntuples(answer.get()); ++at) {
        for (std::size_t i = 0; i < row.size(); ++i)
          row[i] = cell(answer.get(), at, static_cast<int>(i));
        take(row);
      }
    }
  }

  void script(std::string_view sql) override {
    const Answer answer{PQexec(connection_.get(), postgresql_words(sql).c_str())};
    const auto status = PQresultStatus(answer.get());
    if (status != PGRES_COMMAND_OK && status != PGRES_TUPLES_OK) fail(answer.get());
  }

  void begin_write() override {
    // The lock comes before the transaction's first look, so it sees all that those before it wrote.
    run("SELECT pg_advisory_lock(hashtext('goodside record ' || current_schema()))");
    locked_ = true;
    script("BEGIN ISOLATION LEVEL SERIALIZABLE");
  }
  void begin_read() override { script("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"); }
  void commit() override {
    // COMMIT of a failed transaction answers ROLLBACK without an error.
    const Answer answer{PQexec(connection_.get(), "COMMIT")};
    if (PQresultStatus(answer.get()) != PGRES_COMMAND_OK) fail(answer.get());
    if (std::string_view{PQcmdStatus(answer.get())} != "COMMIT")
      throw StoreFailure{StoreFault::other, "the record did not take the entry"};
    unlock();
  }
  void roll_back() noexcept override {
    if (PQtransactionStatus(connection_.get()) != PQTRANS_IDLE)
      PQclear(PQexec(connection_.get(), "ROLLBACK"));
    unlock();
  }

  std::string integrity_complaint(bool) override { return {}; }  // the server keeps its own files

  void copy_to(const std::string&) override {
    throw StoreFailure{StoreFault::other, "a PostgreSQL record has no file to copy"};
  }

 private:
  struct Drain {
    PGconn* connection;
    ~Drain() {
      while (PGresult* answer = PQgetResult(connection)) PQclear(answer);
    }
  };

  void unlock() noexcept {
    if (std::exchange(locked_, false))
      PQclear(PQexec(connection_.get(),
                     "SELECT pg_advisory_unlock(hashtext('goodside record ' || "
                     "current_schema()))"));
  }

  [[noreturn]] void fail(const PGresult* answer) const {
    const char* state = answer == nullptr ? nullptr : PQresultErrorField(answer, PG_DIAG_SQLSTATE);
    const std::string said = first_line(answer == nullptr ? PQerrorMessage(connection_.get())
                                                          : PQresultErrorMessage(answer));
    throw StoreFailure{state == nullptr ? StoreFault::other : fault_of(state),
                       "the PostgreSQL record: " + (said.empty() ? "it went away" : said)};
  }

  const std::string& prepared(std::string_view sql) {
    const auto known = statements_.find(sql);
    if (known != statements_.end()) return known->second;
    const std::string name = fmt::format("s{}", statements_.size()), text{sql};
    const Answer answer{PQprepare(connection_.get(), name.c_str(), text.c_str(), 0, nullptr)};
    if (PQresultStatus(answer.get()) != PGRES_COMMAND_OK) fail(answer.get());
    return statements_.emplace(text, name).first->second;
  }

  std::unique_ptr<PGconn, CloseConnection> connection_;
  std::map<std::string, std::string, std::less<>> statements_;
  bool locked_{};
};

bool is_letter(char letter) {
  return (letter >= 'A' && letter <= 'Z') || (letter >= 'a' && letter <= 'z') || letter == '_';
}

}  // namespace

std::string postgresql_words(std::string_view sql) {
  const std::map<std::string_view, std::string_view> words{
      {"INTEGER", "BIGINT"},
      {"REAL", "DOUBLE PRECISION"},
      {"BLOB", "BYTEA"},
      {"TEXT", "TEXT COLLATE \"C\""},
      {"STRICT", ""},
  };
  std::string out;
  for (std::size_t at = 0; at < sql.size();) {
    std::size_t end = at;
    while (end < sql.size() && is_letter(sql[end])) ++end;
    if (end == at) {
      out += sql[at++];
      continue;
    }
    const std::string_view word = sql.substr(at, end - at);
    const auto known = words.find(word);
    out += known == words.end() ? word : known->second;
    at = end;
  }
  return out;
}

std::unique_ptr<Connection> open_postgresql(const std::string& where) {
  return std::make_unique<Postgresql>(where);
}

}  // namespace goodside::ledger
