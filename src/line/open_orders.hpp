#pragma once
#include <string>
#include <vector>

#include "ledger/record.hpp"
#include "works/need.hpp"

namespace goodside::line {

/// What is left of the record's orders: ordered less good, packed and shipped, with what is
/// pressed and not yet sorted (suspect discs are not counted), and the metal of each
/// title's sides that is in the house: stampers ready, resting or on a press (with the closings of those
/// on a press), mothers and fathers ready. One order where `order` names it. An order that is done is left
/// out; one without a cut, or with metal that has nothing to grow from, is refused.
/// Errors: Fault::not_found for an order that there is none of; Fault::bad_input for one whose title has no
/// cut and no metal, naming what to enter.
Result<std::vector<works::NeedOrder>> open_orders(ledger::Record&, const std::string& order);

}  // namespace goodside::line
