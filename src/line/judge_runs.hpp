#pragma once
#include <string>
#include <vector>

#include "ledger/record.hpp"
#include "plan/run_verdict.hpp"

namespace goodside::line {

struct JudgedRun {
  std::string run{}, order{}, title{};  ///< codes; the title's name
  std::int64_t made{};                  ///< impressions, warm-up and purge among them
  plan::RunEvidence evidence{};
  plan::RunVerdict verdict{};
};

/// Every production run of the record that has pressed (or the one named), from its pressings,
/// tickets and holdings: ship, hold, or hear so many more (plan/run_verdict.hpp). Warm-up and purge discs
/// are no part of a lot; a mounting is a stretch of its own.
/// Errors: Fault::not_found for a run that there is none of; those of judge_run.
Result<std::vector<JudgedRun>> judge_runs(ledger::Record&,
                                          const std::string& run,
                                          const plan::Risks&);

}  // namespace goodside::line
