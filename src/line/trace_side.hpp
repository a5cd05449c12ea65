#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"
#include "works/trace_report.hpp"

namespace goodside::line {

/// A family with what was heard of it, and what could not be read.
struct HeardFamily {
  works::Family family;
  std::vector<works::HeardPlay> plays;
  std::vector<works::RefusedInput> refused;
  std::string works_side{};  ///< code of the record's side; empty: from a family file
};

/// Reads a family file and the reports that it lists, from `reports` (files are named from there).
/// Reports are read on `jobs` threads (0: one a core). One that cannot be read is named in `refused`.
/// Errors: the family file cannot be used, or nothing of what it lists can (Fault::bad_input,
/// Fault::not_found, Fault::io).
Result<HeardFamily> read_heard_family(const std::string& family,
                                      const std::string& reports,
                                      int jobs);

/// A family and its trace, as pictures and pages take them.
struct TracedFamily {
  works::Family family;
  works::TraceReport trace;
  std::vector<works::HeardPlay> plays;
};

/// The whole job. Errors: nothing usable.
Result<TracedFamily> trace_family(HeardFamily heard, int jobs);

}  // namespace goodside::line
