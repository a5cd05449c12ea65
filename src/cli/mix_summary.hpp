#pragma once
#include <string>

#include "works/mix_report.hpp"

namespace goodside::cli {

/// The weigh-up sheet, what the scale said and what to do about it, in 80 columns; the verdict first, the next act last.
[[nodiscard]] std::string mix_summary(const works::MixReport& report, bool colour);

}  // namespace goodside::cli
