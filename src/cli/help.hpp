#pragma once
#include <iosfwd>
#include <string>
#include <vector>

#include "cli/command.hpp"

namespace goodside::cli {

/// The list of commands, a line each; a family of commands with one first word is one line.
void overview(const std::vector<Command>& commands, std::ostream& out);

/// The commands whose names begin with the word `family`, a line each.
void overview_of(const std::string& family,
                 const std::vector<Command>& commands,
                 std::ostream& out);

/// What a command answers, how it is typed, its options and its worked example, in 80 columns.
void explain(const Command& command, std::ostream& out);

}  // namespace goodside::cli
