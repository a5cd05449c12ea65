#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"

namespace goodside::draw {

enum class CurveInk { ink, copper, good, out, quiet };

/// One curve over a common x. Its name stands in the key.
struct Curve {
  std::string name{};
  std::vector<Point> points{};  ///< x and y as on the axes, rising in x
  CurveInk ink{CurveInk::ink};
  bool dashed{};
  bool steps{};  ///< from point to point by a step, for what is counted
  bool dots{};   ///< a dot at each point besides
};

/// A panel: its curves and the lines that stand across or up and down in it.
struct CurvePanel {
  std::string y_title{};
  double y_low{}, y_high{1.0};
  bool percent{};  ///< y is a share, written in per cent
  std::vector<Curve> curves{};
  struct Level {
    double at{};
    std::string text{};
    bool upright{};  ///< at an x
  };
  std::vector<Level> levels{};
};

/// Curves over one axis, in one to three panels under each other.
struct CurvePicture {
  std::string title{}, whose{};
  std::string x_title{};
  double x_low{}, x_high{1.0};
  bool x_percent{};
  std::vector<CurvePanel> panels{};
};

/// Errors: Fault::out_of_range for a width; Fault::bad_input for a picture without panels, or an axis
/// without extent; Fault::io.
Result<std::string> curve_plot(const CurvePicture&, const PlotOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> curve_plot_texts(const CurvePicture&, const PlotOptions&);

}  // namespace goodside::draw
