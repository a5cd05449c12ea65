#pragma once
#include <cstdint>

#include "base/result.hpp"

namespace goodside::dispatch {

/// Discs of one order, or of its part for one place, as the ledger has them.
struct OrderCount {
  std::int64_t ordered{};
  std::int64_t most{};      ///< that the customer takes; at least `ordered`
  std::int64_t shipped{};   ///< out of the house now: what came back is not counted
  std::int64_t credited{};  ///< not to be delivered any more
};

/// still owed = ordered - shipped - credited, never below 0.
[[nodiscard]] std::int64_t still_owed(const OrderCount& count);
/// How many more may leave: most - shipped - credited, never below 0.
[[nodiscard]] std::int64_t may_still_leave(const OrderCount& count);
/// Whether `discs` more may be sent. Errors: Fault::conflict, with the figures and the mend.
Outcome may_ship(const OrderCount& count, std::int64_t discs);
/// Whether `discs` that are still owed may be credited instead. Errors: Fault::conflict.
Outcome may_credit(const OrderCount& count, std::int64_t discs);

}  // namespace goodside::dispatch
