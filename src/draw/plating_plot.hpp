#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"
#include "works/plating.hpp"

namespace goodside::draw {

// Pictures of a plating run; each on an empty page of plot_width x plot_height.
// Errors: Fault::out_of_range for a width; Fault::bad_input for a run without a cell (the first two); Fault::io.

/// Thickness along the radius at the end of the run: the groove band with its thinnest and thickest place, the target, and
/// where a shield was sought, the run without it.
Result<std::string> thickness_plot(const works::PlatingReport&, const PlotOptions&);
/// The cell cut through its axis: holder, disc, shield, anode, wall and level, the potential as colour, and lines between which a
/// twentieth of the current flows each.
Result<std::string> cell_plot(const works::PlatingReport&, const PlotOptions&);
/// Current over time, with what has been laid.
Result<std::string> ramp_plot(const works::PlatingReport&, const PlotOptions&);

/// Where the texts stand of thickness (0), cell (1), ramp (2).
Result<std::vector<PlacedText>> plating_plot_texts(const works::PlatingReport&,
                                                   const PlotOptions&,
                                                   int which);

}  // namespace goodside::draw
