#pragma once
#include <string>

#include "works/mix_report.hpp"

namespace goodside::json {

/// What `mix` found, as text, `"schema": "goodside.mix/1"`: recipe, mixture, weigh_up, deviations, and
/// correction, cheapest, regrind, heat, purge, each null where it was not asked for; remarks, cautions,
/// within. Names, units and meanings are those of works/mix_report.hpp. Ten digits of each figure.
std::string write(const works::MixReport&);

}  // namespace goodside::json
