#pragma once
#include <string>

#include "line/desk.hpp"
#include "works/backing.hpp"
#include "works/centring.hpp"

namespace goodside::line {

/// Format of a part's side; empty where the record does not know it. Errors: Fault::not_found.
Result<std::string> format_of_part(ledger::Record& record, const std::string& code);

/// Enters a centring as the part's step with its readings: offset x, y and their standard uncertainties, length,
/// direction, limit. Errors: those of log_step, where the part's state forbids it among them.
Result<Entered> log_centring(const Desk& desk,
                             const std::string& part,
                             const works::CentringReport& report);

/// Enters a backing with its solder, its layers' thicknesses and the bow expected when cold.
Result<Entered> log_backing(const Desk& desk,
                            const std::string& part,
                            const works::BackingReport& report);

}  // namespace goodside::line
