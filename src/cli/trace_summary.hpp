#pragma once
#include <string>

#include "works/trace_report.hpp"

namespace goodside::cli {

/// What a foreman reads in ten seconds: how many recurring faults are open, then each in a line or
/// two, worst first (what, where, on which discs, cause, since when, what to fetch, what to do),
/// what was put aside, and what to do next. Cautions stand where a hand goes to metal or a press.
[[nodiscard]] std::string trace_summary(const works::TraceReport& trace, bool colour);

}  // namespace goodside::cli
