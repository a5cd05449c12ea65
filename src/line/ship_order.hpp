#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "line/move_discs.hpp"

namespace goodside::line {

/// Closed cartons and pallets leave with a shipment: packed discs become shipped. A carton on a pallet leaves with it.
/// Errors: Fault::conflict where a unit is not closed, of another order, holds suspect discs, where the shipment has
/// left already, or where more would leave than is owed to the order or to the shipment's delivery.
Result<Moved> ship(const Desk& desk,
                   const std::string& shipment,
                   const std::vector<std::string>& units);

/// Discs come back from a customer: out of a carton, or out of all cartons of a shipment or order.
struct Return {
  std::string from;                                 ///< carton, shipment, order or run
  std::optional<works::Impressions> impressions{};  ///< of a run
  std::optional<std::int64_t> quantity{};           ///< of one carton or run; without it all
  std::string to_spindle{}, reason{};
};
/// They become suspect stock in the house, until they are heard. Errors: Fault::not_found where nothing of it is out;
/// Fault::bad_input without a reason; those of choose_stock.
Result<Moved> return_units(const Desk& desk, const Return& back);

/// Discs of an order that are not delivered any more.
struct Credit {
  std::string order, reason;
  std::int64_t quantity{};
  std::string delivery{}, complaint{};
  std::string
      destroyed_from{};  ///< a shipped carton whose discs the customer destroys instead of sending back
};
/// What came back, was destroyed there (shipped discs become scrap), or never left, is credited: it is not owed any
/// more. Errors: Fault::conflict where so many are not owed; Fault::bad_input without a reason.
Result<Entered> credit_discs(const Desk& desk, const Credit& credit);

/// The customer takes up to `most` discs of an order, for instance an overrun. Errors: Fault::bad_input under the
/// quantity ordered or without words; Fault::conflict where more have left.
Result<ledger::Head> agree_most(const Desk& desk,
                                const std::string& order,
                                std::int64_t most,
                                const std::string& words);

}  // namespace goodside::line
