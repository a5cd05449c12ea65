#pragma once
#include <string>
#include <vector>

#include "works/trace_report.hpp"

namespace goodside::cli {

/// What is sure of faults without a groove place of their own, a line each: the sources whose share
/// in the spread of a measure does not vanish (lower bound of its 90 % interval), with who stands out;
/// the stampers whose hole and the presses whose pin is off centre by more than three sigma. Nothing
/// sure, no line.
[[nodiscard]] std::vector<std::string> spread_lines(const works::TraceReport&);

}  // namespace goodside::cli
