#pragma once
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"
#include "works/trace_report.hpp"

namespace goodside::json {

struct ReadFamily {
  works::Family family;
  std::vector<works::RefusedInput> refused;  ///< entries that could not be read, one each
};

/// The largest family file that is read: some 100 000 discs.
inline constexpr std::size_t largest_family_bytes = std::size_t{256} << 20;

/// Reads goodside.family/1. What is absent is not known: play 1, as found, nothing fetchable. An
/// entry with a wrong field is left out and named with its JSON path; the rest is read. Unknown
/// fields are passed over. Errors: Fault::bad_input for text that is no JSON, another schema, or a
/// list that is none.
Result<ReadFamily> read_family(std::string_view text);

/// Of goodside.listen/1 what tracing needs, and no more: a report is read even where its measures
/// are not. `heard` that is absent is the whole side. Errors: Fault::bad_input with the JSON path,
/// or where the report places nothing in the cut: heard without it, the cut not found in it, or
/// nothing heard.
Result<works::HeardPlay> read_heard_play(std::string_view text);

}  // namespace goodside::json
