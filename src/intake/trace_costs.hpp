#pragma once
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/trace_costs.hpp"

namespace goodside::intake {

/// The works' own costs, from [costs] of its goodside.toml; an item that is not told keeps its
/// invented value, and `told` counts those that are. Without the table all are invented.
/// Errors: Fault::bad_input naming file, line and item: a name that no item has (the nearest is
/// offered), a value that is no number, negative, infinite or absurd.
Result<works::TraceCosts> costs_from_toml(std::string_view text, const std::string& shown_name);
Result<works::TraceCosts> read_costs(const std::string& path);

/// The whole table with the invented values and what each item means, to begin from.
[[nodiscard]] std::string default_costs_toml();

}  // namespace goodside::intake
