#pragma once
#include <span>
#include <string_view>

#include "ledger/connection.hpp"

namespace goodside::ledger {

/// A step of the tables' history. Only ever added to, never changed; each runs once, in a
/// transaction of its own.
struct Migration {
  int version;
  std::string_view sql;  ///< in SQLite's words
};
[[nodiscard]] std::span<const Migration> migrations();

/// The version the record stands at, 0 for an empty database. Throws StoreFailure.
[[nodiscard]] int version_of(Connection&);

/// Brings the tables forward to `version`. Errors: Fault::bad_input when the record is newer than
/// this program; Fault::io.
Outcome migrate(Connection&, int version);
/// To the newest.
Outcome migrate(Connection&);

}  // namespace goodside::ledger
