#pragma once
#include <string>

#include "works/plating.hpp"

namespace goodside::cli {

/// A plating run for the terminal: the answer first, then the run, the spread, the bath, the stress, warnings, the caution
/// and what to do next, in 80 columns.
[[nodiscard]] std::string plate_summary(const works::PlatingReport&);

}  // namespace goodside::cli
