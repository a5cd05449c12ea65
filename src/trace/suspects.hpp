#pragma once
#include "trace/touched.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

/// Stock that the fault may have touched: impressions of every cause that makes a disc suspect with
/// at least 5 % probability, and the cartons and spindles that hold such.
[[nodiscard]] works::SuspectStock suspects(const works::Family& family,
                                           const FamilyIndex& index,
                                           const Attribution& why,
                                           const Touched& touched);

}  // namespace goodside::trace
