#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/plot_frame.hpp"
#include "works/listening_report.hpp"

namespace goodside::draw {

/// Least and most of a deviation curve over a stretch of time that it has no gap in.
struct WowSpan {
  double from_s{}, to_s{}, least{}, most{};
};

/// The curve in at most `count` spans of equal time (more only by its gaps).
[[nodiscard]] std::vector<WowSpan> wow_spans(const works::WowCurve&, std::size_t count);

/// Speed deviation against capture time: the whole side as the range of each moment, and five turns about the
/// largest deviation. Dashed: the offset that the limits allow, deviation = e / r (e << r, r the groove's radius
/// there), and the limit of the peak once a turn. Returns the file's bytes; a side without a curve gives a picture
/// that says why. Errors: Fault::out_of_range for an option outside its range; Fault::io from cairo.
Result<std::string> wow_plot(const works::ListeningReport&, const PlotOptions&);
/// Where its texts stand, in page units of plot_width x plot_height.
Result<std::vector<PlacedText>> wow_plot_texts(const works::ListeningReport&, const PlotOptions&);

}  // namespace goodside::draw
