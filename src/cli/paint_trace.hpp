#pragma once
#include <string>

#include "base/result.hpp"
#include "line/trace_side.hpp"

namespace goodside::cli {

/// Draws the worst recurring faults of a traced family, eight at most, three pictures each: the tree
/// with the cause marked goes into `path` itself, the strip of impressions and the contact sheet
/// beside it (trace.png: trace-impressions.png, trace-discs.png); those of the next faults are
/// numbered (trace-2.png, trace-2-impressions.png, …). A picture that has nothing to show is left out;
/// all are drawn before the first is written. Errors: Fault::bad_input for a path that ends with none
/// of .png, .svg and .pdf; Fault::io.
Outcome paint_trace(const line::TracedFamily&, const std::string& path);

}  // namespace goodside::cli
