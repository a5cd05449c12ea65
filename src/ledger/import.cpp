#include "ledger/import.hpp"

#include <fmt/format.h>

#include "ledger/record.hpp"

namespace goodside::ledger {

Importer::Importer(Connection& connection) : connection_{connection} {
  if (head_of(connection).seq != 0)
    throw StoreFailure{StoreFault::unique, "the record holds entries already; name an empty one"};
}

void Importer::take(const Event& event) {
  if (event.seq != last_.seq + 1 || event.previous != last_.hash)
    throw StoreFailure{
        StoreFault::corrupt,
        fmt::format(
            "entry {} does not follow entry {}; the export is damaged", event.seq, last_.seq)};
  if (hash_of(event) != event.hash)
    throw StoreFailure{
        StoreFault::corrupt,
        fmt::format("entry {} is not what was exported: its hash differs", event.seq)};
  append(connection_, event);
  for (const Change& change : read_body(event.body)) apply(connection_, change, event.seq);
  last_ = {event.seq, event.hash};
}

Head Importer::finish() {
  for (const Values& run : connection_.ask("SELECT code FROM run ORDER BY code")) {
    works::RunStock stock;
    for (const works::Movement& movement : movements_of(connection_, text(run[0])))
      if (const auto posted = stock.post(movement); !posted)
        throw StoreFailure{StoreFault::corrupt, posted.error().text};
    store_holdings(connection_, text(run[0]), {}, stock.holdings());
  }
  return last_;
}

}  // namespace goodside::ledger
