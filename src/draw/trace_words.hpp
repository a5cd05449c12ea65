#pragma once
#include <string>
#include <string_view>

#include "works/trace_report.hpp"

namespace goodside::draw {

// How a trace is said; terminal, pictures and papers say it alike.

/// "mother", "mounting"; a cause that is no part is "each disc alone" or "dust".
[[nodiscard]] std::string_view word(works::CauseLevel);
/// "mother M2".
[[nodiscard]] std::string named(const works::Cause&);
/// "96 %", "> 99 %", "< 1 %".
[[nodiscard]] std::string percent(double share);
/// "since impression 412 (90 %: 401 to 430)", "since its birth"; empty where it is not known.
[[nodiscard]] std::string since(const works::Cause&);
/// "Tick at 3:42, side A".
[[nodiscard]] std::string fault_name(const works::RecurringFault&);

}  // namespace goodside::draw
