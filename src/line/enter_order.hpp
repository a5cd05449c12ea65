#pragma once
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "line/read_fields.hpp"

namespace goodside::line {

/// An order as it comes in by post: perhaps of a title that was never pressed here, perhaps for several places.
struct NewOrder {
  std::string title{};              ///< code of one in the record; empty: the new one below
  Typed new_title{};                ///< fields of a title
  std::vector<Typed> new_sides{};   ///< fields of its sides, without `title`
  Typed order{};                    ///< fields of the order, without `title`
  std::vector<Typed> deliveries{};  ///< fields of its deliveries, without `order`
};
struct OrderEntered {
  std::string order, title;
  std::vector<std::string> sides, deliveries;
  ledger::Head head;
};

/// Enters title, sides, order and deliveries in one entry: all of it, or nothing. Errors: those of read_fields and
/// add_noun; Fault::bad_input without a title, or for a new one without sides.
Result<OrderEntered> enter_order(const Desk& desk, const NewOrder& wanted);

}  // namespace goodside::line
