#pragma once
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/trace_report.hpp"

namespace goodside::json {

/// The contract goodside.trace/1 as text. Equal contents give equal bytes. Times carry 1e-6 s,
/// angles 0.1 deg, radii 1e-5 m, probabilities and bits 1e-4, minutes and costs 0.01.
std::string write(const works::TraceReport&);

/// Reads goodside.trace/1. Unknown fields are passed over. Errors: Fault::bad_input with the JSON
/// path of the first wrong field, another schema, or text that is no JSON.
Result<works::TraceReport> read_trace(std::string_view text);

}  // namespace goodside::json
