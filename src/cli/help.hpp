#pragma once
#include <iosfwd>
#include <vector>

#include "cli/command.hpp"

namespace goodside::cli {

/// The list of commands, a line each.
void overview(const std::vector<Command>& commands, std::ostream& out);

/// What a command answers, how it is typed, its options and its worked example, in 80 columns.
void explain(const Command& command, std::ostream& out);

}  // namespace goodside::cli
