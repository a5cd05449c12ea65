#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"
#include "works/centring.hpp"

namespace goodside::draw {

/// A hole against its groove on one page. Left, enlarged with its scale stated: the hole's axis, the limit as a circle
/// round it, the groove's centre with its region, and the move as an arrow back to the axis. Right: the readings round
/// the turn with the fitted curve, bad ones as crosses; for a photograph what it rests on in words.
/// Errors: Fault::out_of_range for a width; Fault::io.
Result<std::string> centring_plot(const works::CentringReport&, const PlotOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> centring_plot_texts(const works::CentringReport&,
                                                    const PlotOptions&);

}  // namespace goodside::draw
