#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/plot_frame.hpp"
#include "works/listening_report.hpp"

namespace goodside::draw {

/// The side in time, as a bench follows it: every fault a stem as high as its peak [dB re full scale of the
/// programme] with the mark of its kind, patterns as bars beneath, the mean noise of each band of turns as a strip
/// of the portrait's colours, what was not heard crossed out. Programme time where the cut was found, else capture
/// time. Returns the file's bytes. Errors: Fault::out_of_range for an option outside its range; Fault::io from cairo.
Result<std::string> strip_plot(const works::ListeningReport&, const PlotOptions&);
/// Where its texts stand, in page units of plot_width x plot_height.
Result<std::vector<PlacedText>> strip_plot_texts(const works::ListeningReport&, const PlotOptions&);

}  // namespace goodside::draw
