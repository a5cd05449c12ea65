#pragma once
#include <string>
#include <utility>
#include <vector>

#include "draw/paper.hpp"

namespace goodside::draw {

/// What sticks on a carton or a pallet, or goes with a sampled disc.
struct UnitLabel {
  std::string what{};      ///< "Carton 3 of 96", "Sample ticket"
  std::string code{};      ///< of the thing, in large letters
  std::string headline{};  ///< the title
  std::vector<std::pair<std::string, std::string>> pairs{};
  std::string count{};  ///< "25 discs": what an eye three steps away looks for
  std::string to{};     ///< whom it goes to
  std::string caution{};
  PaperCode matrix{};  ///< at the top right
  std::vector<PaperCode>
      bars{};  ///< at the foot, the number of the unit last; each over the label's width
};

/// A label a sheet, black on white, for papers from 50 mm wide up. Letters are made smaller, then long texts cut with an
/// ellipsis, so that nothing leaves the label; code, count and numbers are never cut. Bars are at least 0.25 mm a
/// module wide, 0.495 to 0.94 mm where the label has the room, and up to 32 mm high. Source: GS1 General
/// Specifications, logistic label (from memory) [GS1].
/// Errors: Fault::bad_input for a letter that no font has or a code that cannot be; Fault::out_of_range where the
/// paper is too small; Fault::io.
Result<DrawnPaper> draw_labels(const std::vector<UnitLabel>& labels,
                               PictureFormat format,
                               const Paper& paper);

}  // namespace goodside::draw
