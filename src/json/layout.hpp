#pragma once
#include <nlohmann/json_fwd.hpp>
#include <string>

namespace goodside::json {

/// A JSON value laid out to be read and compared by people: two spaces a level, but an object or
/// list of plain values, and a list of numbers of any length, on one line. Bytes that are no UTF-8
/// become U+FFFD. Ends in a newline. Never throws for what it holds.
std::string lay_out(const nlohmann::ordered_json& value);

}  // namespace goodside::json
