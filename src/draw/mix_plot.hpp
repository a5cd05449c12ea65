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

struct WeighSheetOptions {
  PictureFormat format = PictureFormat::pdf;  ///< or svg; a PNG has no size to print at
  Paper paper = {210.0, 297.0};
  std::string batch = "";  ///< code in the works' record; empty: a line to write it on
  std::string date = "";
};

/// The weigh-up sheet as a paper: a row an ingredient in the order of charging, with boxes for what the
/// scale says, the lot that was used and who weighed; the cautions in a frame at the foot. Black on white.
/// A PDF holds as many sheets as it takes.
/// Errors: Fault::out_of_range for PNG, and for an SVG where one sheet does not do; Fault::io.
Result<std::string> weigh_sheet(const works::MixReport&, const WeighSheetOptions&);
/// Where the texts of the last sheet stand [mm].
Result<std::vector<PlacedText>> weigh_sheet_texts(const works::MixReport&,
                                                  const WeighSheetOptions&);

}  // namespace goodside::draw
