#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "works/holding.hpp"

namespace goodside::line {

/// Good stock of an order, or of one of its runs, goes into new cartons in the order of its impressions.
struct Filling {
  std::string from;  ///< order or run
  std::int64_t per_carton{};
  std::optional<works::Impressions> impressions{};  ///< of the run
  std::optional<std::int64_t> quantity{};           ///< so many discs; without it all that are good
  std::string spindle{};                            ///< only what stands on it
  bool
      part{};  ///< what does not fill a carton goes into a last, part one; else it stays good stock
};
struct FilledCarton {
  std::string code;
  std::int64_t discs{};
  std::vector<works::Movement> movements;
};
struct Filled {
  ledger::Head head;
  std::vector<FilledCarton> cartons;
  std::int64_t discs{}, left{};  ///< packed; good stock that stays
};
/// One entry. Discs of a test run stay where they are. Errors: Fault::not_found where no good stock is there;
/// Fault::conflict where more would be packed than the customer takes, or fewer are there than asked for.
Result<Filled> fill_cartons(const Desk& desk, const Filling& filling);

/// Closed cartons of one order are put on a new pallet. Errors: Fault::conflict where one is not closed, stands on another
/// pallet, or is of another order.
Result<Entered> stack_pallet(const Desk& desk,
                             const std::string& order,
                             const std::vector<std::string>& cartons);

/// Cartons are taken off their pallets; a closed pallet is opened by it, and its number is void.
/// Errors: Fault::conflict where one stands on none, or has left.
Result<ledger::Head> unstack(const Desk& desk, const std::vector<std::string>& cartons);

}  // namespace goodside::line
