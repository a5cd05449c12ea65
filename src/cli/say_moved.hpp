#pragma once
#include <string>

#include "cli/works_open.hpp"
#include "line/close_units.hpp"
#include "line/move_discs.hpp"

namespace goodside::cli {

/// "25 discs shipped", the movements, at most twenty of them, and what has left the house already; with --json all.
int say_moved(const Args& args,
              Console& console,
              const std::string& what,
              const Result<line::Moved>& moved);

/// "25 discs in K-000001-S, which is closed", and its number.
std::string closed_text(const std::string& unit, const line::Closed& closed);
json::Node closed_node(const std::string& unit, const line::Closed& closed);

/// The codes of a list of words. Errors: of the first that is none.
Result<std::vector<std::string>> code_list(const std::vector<std::string>& typed);

}  // namespace goodside::cli
