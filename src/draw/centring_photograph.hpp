#pragma once
#include <string>

#include "base/result.hpp"
#include "draw/plot_frame.hpp"
#include "works/centring.hpp"
#include "works/photograph.hpp"

namespace goodside::draw {

/// What was found, drawn over the photograph: the outlines of the hole and the groove circles, and beside it the hole
/// enlarged with the offset as an arrow, many times its size, its scale stated.
/// Errors: Fault::out_of_range for a width; Fault::bad_input for a report without a photograph; Fault::io.
Result<std::string> centring_photograph(const works::CentringReport& report,
                                        const works::GreyPicture& picture,
                                        const PlotOptions& options);

}  // namespace goodside::draw
