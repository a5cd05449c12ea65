#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"
#include "works/biscuit_report.hpp"

namespace goodside::draw {

/// How biscuits' masses lie between short fill and too much flash: those weighed as columns, the law
/// they follow now and at the mass to aim at, each with what falls beyond the limits filled.
/// Errors: Fault::out_of_range for a width; Fault::bad_input where no scatter is known; Fault::io.
Result<std::string> biscuit_plot(const works::BiscuitReport&, const PlotOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> biscuit_plot_texts(const works::BiscuitReport&, const PlotOptions&);

}  // namespace goodside::draw
