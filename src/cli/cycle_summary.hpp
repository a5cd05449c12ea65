#pragma once
#include <string>

#include "line/press_setup.hpp"

namespace goodside::cli {

/// What a person at the press reads of a cycle: whether it works, when to do what, what it makes of
/// the compound, what it takes, what is not known, and the cautions.
[[nodiscard]] std::string cycle_summary(const line::CycleAnswer&, bool colour);

/// Every input with its value, range and source.
[[nodiscard]] std::string input_list(const press::CycleSetup&);

}  // namespace goodside::cli
