#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"
#include "works/control_chart.hpp"

namespace goodside::draw {

/// A control chart as the bench reads it: a strip a panel, the values joined in their order, centre
/// and limits drawn with the size of each point, one and two sigma as fainter lines where run rules
/// look at them; a point that breaks a rule is a filled triangle, the points the limits rest on stand
/// on a lighter ground. At most 400 points: the latest.
/// Errors: Fault::out_of_range for a width; Fault::bad_input for a chart without points; Fault::io.
Result<std::string> control_chart_plot(const works::ControlChart&, const PlotOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> control_chart_plot_texts(const works::ControlChart&,
                                                         const PlotOptions&);

}  // namespace goodside::draw
