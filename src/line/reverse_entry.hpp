#pragma once
#include "line/desk.hpp"

namespace goodside::line {

/// Takes back what an entry did, by an entry of its own that names it; nothing is ever deleted. What
/// it added is marked as entered by mistake, what it changed is as before, its movements are posted
/// the other way. Errors: Fault::not_found; Fault::conflict where a later entry builds on it (the
/// sentence names it), or where it was taken back before; Fault::bad_input without a reason.
Result<ledger::Head> reverse_entry(const Desk& desk, std::int64_t seq, const std::string& reason);

}  // namespace goodside::line
