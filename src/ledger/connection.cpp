#include "ledger/connection.hpp"

#include "ledger/stores.hpp"

namespace goodside::ledger {

std::vector<Values> Connection::ask(std::string_view sql, const Values& parameters) {
  std::vector<Values> rows;
  each(sql, parameters, [&](const Values& row) { rows.push_back(row); });
  return rows;
}

void Connection::run(std::string_view sql, const Values& parameters) {
  each(sql, parameters, [](const Values&) {});
}

bool names_postgresql(std::string_view where) {
  return where.starts_with("postgresql://") || where.starts_with("postgres://");
}

Result<std::unique_ptr<Connection>> connect(const std::string& where, bool create) {
  try {
    return names_postgresql(where) ? open_postgresql(where) : open_sqlite(where, create);
  } catch (const StoreFailure& failure) {
    return Error{failure.fault() == StoreFault::corrupt ? Fault::bad_input : Fault::io,
                 failure.what()};
  }
}

}  // namespace goodside::ledger
