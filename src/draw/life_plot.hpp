#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"
#include "works/stamper_life.hpp"

namespace goodside::draw {

/// How many stampers are still good at each age: the curve without a law as steps, open where an end
/// is known only to lie between two ages; the Weibull law of ends by any cause with its band; and the
/// cheapest pull limit with the range that costs within 1 % of it. Of the group of all stampers.
/// Errors: Fault::out_of_range for a width; Fault::bad_input for a report without a curve; Fault::io.
Result<std::string> life_plot(const works::LifeReport&, const PlotOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> life_plot_texts(const works::LifeReport&, const PlotOptions&);

}  // namespace goodside::draw
