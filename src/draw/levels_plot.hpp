#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/plot_frame.hpp"
#include "works/listening_report.hpp"

namespace goodside::draw {

/// A channel's level against the cut, mean of the third octaves that are judged (250 Hz to 8 kHz) [dB]; nullopt
/// where none of them was measured.
[[nodiscard]] std::optional<double> mean_level_dB(const std::vector<works::ThirdOctave>&,
                                                  bool left);

/// Level of the capture against the cut by third octaves: what each channel deviates from its own mean over the
/// bands that are judged, 250 Hz to 8 kHz, with the limit about it; the means, balance, separation and
/// high-frequency loss in words. Returns the file's bytes; a side without levels gives a picture that says why.
/// Errors: Fault::out_of_range for an option outside its range; Fault::io from cairo.
Result<std::string> levels_plot(const works::ListeningReport&, const PlotOptions&);
/// Where its texts stand, in page units of plot_width x plot_height.
Result<std::vector<PlacedText>> levels_plot_texts(const works::ListeningReport&,
                                                  const PlotOptions&);

}  // namespace goodside::draw
