#pragma once
#include <string>

#include "works/stamper_life.hpp"

namespace goodside::cli {

/// What a foreman reads in ten seconds: when to pull a stamper, how long they last, what ends them,
/// whether presses, materials or facings differ, and how far all this can be trusted.
[[nodiscard]] std::string life_summary(const works::LifeReport&);

}  // namespace goodside::cli
