#pragma once
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/disc_plays.hpp"

namespace goodside::json {

/// The contract goodside.plays/1 as text: several plays of one disc taken together. Equal contents
/// give equal bytes; figures carry the digits of goodside.listen/1. Each place names its fault in
/// short; the whole of it stands in the plays' own reports.
std::string write(const works::DiscPlays&);

/// Reads goodside.plays/1. Unknown fields are passed over. Errors: Fault::bad_input with the JSON
/// path of the first wrong field, a newer version, or text that is no JSON.
Result<works::DiscPlays> read_plays(std::string_view text);

}  // namespace goodside::json
