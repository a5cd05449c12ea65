#pragma once
#include <memory>
#include <string>

#include "ledger/connection.hpp"

namespace goodside::ledger {

// The two stores behind Connection; nobody but connect() needs them. Both throw StoreFailure.

/// WAL, synchronous=FULL, foreign keys on. `create` makes a missing file.
std::unique_ptr<Connection> open_sqlite(const std::string& path, bool create);

std::unique_ptr<Connection> open_postgresql(const std::string& where);

/// Tables in SQLite's words as PostgreSQL takes them; text compares by bytes in both.
std::string postgresql_words(std::string_view sql);

}  // namespace goodside::ledger
