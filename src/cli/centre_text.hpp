#pragma once
#include <string>

#include "works/centring.hpp"

namespace goodside::cli {

/// What a person at the bench reads: verdict, offset, move, wow, out-of-round, what was left out, the caution, and what
/// to do next.
[[nodiscard]] std::string centre_text(const works::CentringReport& report, bool colour);

}  // namespace goodside::cli
