#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "ledger/record.hpp"
#include "works/stamper_life.hpp"
#include "works/trace_costs.hpp"
#include "works/trace_report.hpp"

namespace goodside::line {

/// Stampers' lives, and what was assumed of some of them, a sentence each.
struct KnownLives {
  std::vector<works::StamperLife> lives;
  std::vector<std::string> remarks;
};

/// Every part of the record that has pressed, in its own closings over all its mountings, warm-up
/// and purge discs counted. Its end is the earliest of
/// - the onset interval of a plain fault that a trace (`traces`, by side) puts on the stamper, was not
///   there from its birth and has not ceased: damage, or what the part's last note says;
/// - the ages at which the line of its discs' noise comes to the limit of the side's format: wear
///   (trace/closings.hpp);
/// - its withdrawal, scrapping or failed inspection where the note names a cause ("cracked", "worn",
///   "scratched", "lost" …): between the last disc of it that was heard good and its last closing.
/// Else it is still good, or was withdrawn good, after its last closing. `folder` is the works', whose
/// goodside.toml holds the limits.
/// Errors: Fault::bad_input where nothing was pressed yet, or the limits cannot be read.
Result<KnownLives> lives_of_record(ledger::Record& record,
                                   const std::string& folder,
                                   const std::map<std::string, works::TraceReport>& traces);

/// A trace of every side of the record that has listening reports, by side; sides that cannot be
/// traced are told in `remarks`. Takes as long as each trace does.
Result<std::map<std::string, works::TraceReport>> traces_of_record(
    ledger::Record& record, const std::string& folder, int jobs, std::vector<std::string>& remarks);

/// The laws, curves and the cheapest pull limit of these lives (trace/life.hpp), with remarks.
/// Errors: those of trace::stamper_lives.
Result<works::LifeReport> life_report(const KnownLives&, const works::TraceCosts&, int jobs);

}  // namespace goodside::line
