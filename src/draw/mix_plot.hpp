#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"
#include "works/mix_report.hpp"

namespace goodside::draw {

/// Where something was weighed: each ingredient's deviation as a bar in its tolerances, and where the
/// correction takes it. Otherwise: what the mix holds, by mass and by volume.
/// Errors: Fault::out_of_range for a width; Fault::io.
Result<std::string> mix_plot(const works::MixReport&, const PlotOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> mix_plot_texts(const works::MixReport&, const PlotOptions&);

}  // namespace goodside::draw
