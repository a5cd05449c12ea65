#pragma once
#include <span>

#include "plan/life_law.hpp"
#include "works/stamper_life.hpp"

namespace goodside::line {

/// What stampers' lives let one believe of the law by which they end, whatever the cause: one Weibull
/// law a cell of a grid over log scale and log spread about the best fit, out to where the log
/// likelihood has fallen by 6 along its axis, each weighted by its likelihood (a flat prior). With
/// few ends the laws lie wide apart, and so do the answers that rest on them. With fewer than
/// `ends_for_shape` ends the shape is held at 1.
/// Errors: those of trace::fit_weibull; Fault::bad_input where none has ended.
Result<plan::LifeBelief> life_belief(std::span<const works::StamperLife>, int ends_for_shape = 3);

}  // namespace goodside::line
