#pragma once
#include <string>
#include <vector>

#include "draw/canvas.hpp"

namespace goodside::draw {

/// What is printed on the label of one side.
struct CentreLabel {
  double diameter_m{0.100}, hole_diameter_m{0.00724};
  std::string title{}, artist{}, side{}, speed{}, matrix{}, catalogue{}, label_name{};
  std::vector<std::string> tracks{};  ///< a line each
};

/// Draws it at 1:1 with its top left corner at `at` [mm], outline and hole in thin lines: label's name and title above the
/// hole, side and speed beside it, tracks and artist below, matrix and catalogue number at the foot. Every line lies
/// within the circle, 3 mm from the edge and 2 mm from the hole: letters are made smaller, then cut with an ellipsis.
/// Returns the box of the whole label.
Box draw_centre_label(Canvas& canvas, const CentreLabel& label, Point at);

}  // namespace goodside::draw
