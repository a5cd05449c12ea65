#include "serve/store.hpp"

#include <sys/stat.h>

#include "ledger/value.hpp"

namespace goodside::serve {
namespace {

constexpr std::string_view tables = R"(
CREATE TABLE IF NOT EXISTS account (
  name TEXT PRIMARY KEY NOT NULL, secret TEXT NOT NULL, roles TEXT NOT NULL,
  disabled INTEGER NOT NULL, made_ms INTEGER NOT NULL, last_seen_ms INTEGER
) STRICT;
CREATE TABLE IF NOT EXISTS session (
  token TEXT PRIMARY KEY NOT NULL, account TEXT NOT NULL REFERENCES account (name),
  csrf TEXT NOT NULL, made_ms INTEGER NOT NULL, last_ms INTEGER NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS upload (
  id TEXT PRIMARY KEY NOT NULL, name TEXT NOT NULL, ticket TEXT NOT NULL, letter TEXT NOT NULL,
  after TEXT NOT NULL, bench TEXT NOT NULL, bytes INTEGER NOT NULL, sha256 TEXT NOT NULL,
  who TEXT NOT NULL, at_ms INTEGER NOT NULL, kept_as TEXT, job TEXT
) STRICT;
CREATE TABLE IF NOT EXISTS job (
  id TEXT PRIMARY KEY NOT NULL, number INTEGER NOT NULL UNIQUE, kind TEXT NOT NULL,
  state TEXT NOT NULL, what TEXT NOT NULL, ticket TEXT, letter TEXT, side TEXT, path TEXT,
  sha256 TEXT, bench TEXT, who TEXT NOT NULL, at_ms INTEGER NOT NULL, began_ms INTEGER,
  ended_ms INTEGER, attempts INTEGER NOT NULL, error TEXT, report TEXT, pass INTEGER
) STRICT;
CREATE INDEX IF NOT EXISTS job_state ON job (state, number);
CREATE TABLE IF NOT EXISTS recording (
  id TEXT PRIMARY KEY NOT NULL, name TEXT NOT NULL, ticket TEXT NOT NULL, letter TEXT NOT NULL,
  after TEXT NOT NULL, bench TEXT NOT NULL, device TEXT NOT NULL, who TEXT NOT NULL,
  at_ms INTEGER NOT NULL, title TEXT NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS side_check (
  job TEXT PRIMARY KEY NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS traced (
  side TEXT PRIMARY KEY NOT NULL, seq INTEGER NOT NULL, path TEXT NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS given_file (
  id TEXT PRIMARY KEY NOT NULL, name TEXT NOT NULL, bytes INTEGER NOT NULL, who TEXT NOT NULL,
  at_ms INTEGER NOT NULL
) STRICT;
)";

}  // namespace

Result<std::unique_ptr<Store>> Store::open(const std::string& path) {
  auto connection = ledger::connect(path, true);
  if (!connection) return connection.error();
  try {
    (*connection)->script(tables);
  } catch (const ledger::StoreFailure& failure) {
    return Error{Fault::io, path + ": " + failure.what()};
  }
  chmod(path.c_str(), S_IRUSR | S_IWUSR);
  return std::unique_ptr<Store>{new Store{std::move(*connection)}};
}

void Store::in(const std::function<void(ledger::Connection&)>& act) {
  const std::lock_guard lock{guard_};
  connection_->begin_write();
  try {
    act(*connection_);
    connection_->commit();
  } catch (...) {
    connection_->roll_back();
    throw;
  }
}

std::vector<ledger::Values> Store::ask(std::string_view sql, const ledger::Values& parameters) {
  const std::lock_guard lock{guard_};
  return connection_->ask(sql, parameters);
}

void Store::run(std::string_view sql, const ledger::Values& parameters) {
  in([&](ledger::Connection& connection) { connection.run(sql, parameters); });
}

}  // namespace goodside::serve
