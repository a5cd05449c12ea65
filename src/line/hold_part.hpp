#pragma once
#include <string>

#include "line/quarantine.hpp"

namespace goodside::line {

/// All that was pressed from a part and from what grew from it, as impressions of its title: the order to hold it.
/// Errors: Fault::not_found for no such part; Fault::conflict where nothing was pressed from it, or the title's impressions
/// were not counted; Fault::bad_input without a reason.
Result<SuspectOrder> suspects_of_part(ledger::Record& record,
                                      const std::string& part,
                                      const std::string& reason);

}  // namespace goodside::line
