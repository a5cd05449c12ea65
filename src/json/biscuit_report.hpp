#pragma once
#include <string>

#include "works/biscuit_report.hpp"

namespace goodside::json {

/// What `biscuit` found, as text, `"schema": "goodside.biscuit/1"`: disc, biscuit, cut, now, aim, regrind,
/// remarks, cautions, within; null where it is not known. Names, units and meanings are those of
/// works/biscuit_report.hpp. Ten digits of each figure.
std::string write(const works::BiscuitReport&);

}  // namespace goodside::json
