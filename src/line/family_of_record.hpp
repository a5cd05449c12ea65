#pragma once
#include <string>

#include "ledger/record.hpp"
#include "line/trace_side.hpp"

namespace goodside::line {

/// What a works' record knows of the family behind one side of a title: metal from the first part
/// down, the sampled discs by their tickets, stock that can still be fetched, steps on parts at the
/// impression that followed them, the newest report of each capture, listeners' remarks and
/// complaints. A part that goes on a press stands as a stamper whatever grew it. `folder` is the
/// works', where the reports lie; one that cannot be read is named in `refused`. What was read once is
/// kept in its cache/ (heard_cache.hpp), which may be deleted at any time.
/// Errors: Fault::not_found for no such side; Fault::bad_input where no report of it was kept.
Result<HeardFamily> family_of_record(ledger::Record& record,
                                     const std::string& folder,
                                     const std::string& side,
                                     const works::TraceCosts& costs,
                                     int jobs);

}  // namespace goodside::line
