#pragma once
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/stamper_life.hpp"

namespace goodside::json {

/// Stampers' lives as text, `"schema": "goodside.life/1"`:
///   confidence
///   groups [{by: "all"|"material"|"press"|"facing", value|null, stampers, ended,
///            causes [{cause: "wear"|"crack"|"damage"|"loss"|null, ends, shape_assumed, shape, scale_closings,
///                     tenth_closings}], each figure {value, low|null, high|null}; null: the evidence leaves it open
///            log_likelihood|null, curve [{above_closings, to_closings|null, share}], curve_gap,
///            law [{share, closings {value, low|null, high|null}}] of all: one law for ends by any cause,
///            pull {closings|null, cost_per_disc, cost_per_disc_unpulled, low_closings|null, high_closings|null}|null}]
///   tests [{by, chance}]; undetermined [{field, why}]; remarks [text]
/// Equal contents give equal bytes.
std::string write(const works::LifeReport&);

/// Reads goodside.life/1. Errors: Fault::bad_input with the JSON path of the first wrong field.
Result<works::LifeReport> read_life(std::string_view text);

}  // namespace goodside::json
