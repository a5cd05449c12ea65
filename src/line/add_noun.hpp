#pragma once
#include "line/desk.hpp"
#include "line/read_fields.hpp"

namespace goodside::line {

/// Enters a noun that has no verb of its own, with what the record must see to:
/// - a part grown in the house: its parent must be ready, filmed and free, it begins `growing` and
///   takes the next ordinal and the parent's side and cut; lacquer and wax begin `ready`; bought
///   parts and those from cards take the state given (ready without one);
/// - a run takes its title from its order; a carton begins open.
/// Errors: Fault::bad_input, not_found, conflict, each with its reason.
Result<Entered> add_noun(const Desk& desk, const works::Kind& kind, const Typed& typed);

/// The same within an entry that writes more; throws ledger::Refused.
std::string add_within(ledger::Writer& writer, const works::Kind& kind, ledger::Row row);

}  // namespace goodside::line
