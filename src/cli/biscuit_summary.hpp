#pragma once
#include <string>

#include "works/biscuit_report.hpp"

namespace goodside::cli {

/// The mass to aim at, the cut, and how often discs fall short, in 80 columns; the verdict first, the next act last.
[[nodiscard]] std::string biscuit_summary(const works::BiscuitReport& report, bool colour);

}  // namespace goodside::cli
