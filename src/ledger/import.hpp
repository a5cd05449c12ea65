#pragma once
#include "ledger/event.hpp"

namespace goodside::ledger {

/// Takes a whole log into an empty record, entry by entry, within one transaction that the caller
/// begins and ends: the tables come out as the log made them, the head is the same in either store.
/// Throws StoreFailure (corrupt) where an entry does not follow the one before, its hash does not
/// fit, or its rows cannot be.
class Importer {
 public:
  /// Throws StoreFailure (unique) where the record holds entries already.
  explicit Importer(Connection& connection);
  void take(const Event& event);
  /// Makes the stock out of the movements. The head that the record then has.
  Head finish();

 private:
  Connection& connection_;
  Head last_;
};

}  // namespace goodside::ledger
