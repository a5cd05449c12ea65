#pragma once
#include <cstddef>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/listening_report.hpp"

namespace goodside::json {

/// The contract goodside.listen/1 as text. Keys stand in the contract's order; equal reports give
/// equal bytes. Numbers carry no more digits than are stable: capture and programme times 1e-7 s,
/// other times 1e-6 s, lengths 1e-7 m (pitch 1e-9 m), deviations 1e-8, rpm 1e-6, shares 1e-4, and
/// dB, ppm, Hz and degrees 0.01. Masked faults are left out, from patterns too. A number that is
/// not finite becomes null and is named in `undetermined`, with the reason. Bytes of a path that
/// are no UTF-8 become U+FFFD.
std::string write(const works::ListeningReport&);

/// The largest report that is read; a whole side has about 2 MB.
inline constexpr std::size_t largest_report_bytes = std::size_t{32} << 20;

/// Reads goodside.listen/1. Unknown fields are passed over; a field that may be null may also be
/// absent. A number that must be there may be null only where `undetermined` names it, and is then
/// NaN in the struct. Errors: Fault::bad_input with the JSON path of the first wrong field, a newer
/// version of the schema, more than `largest_report_bytes`, nesting beyond 32 levels, or text that
/// is no JSON.
Result<works::ListeningReport> read(std::string_view text);

}  // namespace goodside::json
