#pragma once
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "works/biscuit_report.hpp"
#include "works/mix_report.hpp"

namespace goodside::line {

/// What the record's weighings of a batch come to, an ingredient each, those taken back left out.
struct RecordedBatch {
  std::vector<works::Weighed> weighed, asked;
};
/// Errors: Fault::not_found.
Result<RecordedBatch> recorded_batch(ledger::Record& record, const std::string& batch);

struct BatchLog {
  std::string batch;  ///< code of one in the record that this is added to; empty: a new one
  std::vector<works::Weighed> weighed;  ///< only what is new
};

/// Enters in one entry: a new batch of the report's recipe with a weighing an ingredient, its lot, what
/// the sheet asked and what the scale said; or, for a batch that is there, what was added to it.
/// Errors: Fault::bad_input where nothing new was weighed; Fault::not_found.
Result<Entered> log_batch(const Desk& desk, const works::MixReport& report, const BatchLog& log);

/// Enters biscuits cut from a batch: how many were weighed, their mean, the sheet; scatter and aim stand
/// in the note. Errors: Fault::bad_input where none were weighed; Fault::not_found.
Result<Entered> log_biscuits(const Desk& desk,
                             const works::BiscuitReport& report,
                             const std::string& batch);

}  // namespace goodside::line
