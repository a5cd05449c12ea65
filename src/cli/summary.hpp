#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/listening_report.hpp"

namespace goodside::cli {

/// One side on a terminal: verdict first, reasons, at most ten faults, measures, and last what to
/// do next. Lines of at most 80 columns; colour only where asked for.
[[nodiscard]] std::string summary(const works::ListeningReport&, bool colour);

/// What to do next, in one sentence.
[[nodiscard]] std::string next_act(const works::ListeningReport&);

/// One capture of several: its path, and the report or why there is none.
struct HeardOne {
  std::string path;
  Result<works::ListeningReport> report;
};

/// Several sides, a line each, then the count and what to do next.
[[nodiscard]] std::string table(const std::vector<HeardOne>&, bool colour);

}  // namespace goodside::cli
