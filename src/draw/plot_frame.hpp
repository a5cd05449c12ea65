#pragma once
#include <string>
#include <vector>

#include "draw/canvas.hpp"
#include "draw/portrait.hpp"
#include "works/limits.hpp"

namespace goodside::draw {

struct PlotOptions {
  PictureFormat format = PictureFormat::png;
  int width_px = 1600;        ///< PNG: 400 to 8000; PDF and SVG are as wide as A4 lying down
  bool dark = false;          ///< for a darkened bench
  works::Limits limits = {};  ///< drawn where they are set and can be drawn
  std::string title = "";     ///< of the record; empty: the capture's file name alone
  std::string date = "";      ///< as it is to stand there; empty: none
};

inline constexpr double plot_width = 1188.0, plot_height = 640.0;

struct AxisTick {
  double value{};
  std::string text{};  ///< empty: a short tick without a figure
};

/// One axis from `low` to `high`, even or by octaves.
struct Axis {
  double low{}, high{};
  std::vector<AxisTick> ticks;
  std::string title;  ///< with its unit
  bool octaves{};

  /// 0 at `low`, 1 at `high`.
  [[nodiscard]] double share(double value) const;
};

/// From `least` to a greater `most`, with up to nine ticks on multiples of a step of 1, 2 or 5 times a power of ten.
[[nodiscard]] Axis round_axis(double least, double most, const std::string& title);
/// Without the figures that would stand closer than `apart` page units on an axis `length` long.
[[nodiscard]] Axis thinned(Axis, double length, double apart);
/// From `from_s` to `to_s` with ticks on whole seconds or minutes, as clock readings.
[[nodiscard]] Axis clock_axis(double from_s, double to_s, const std::string& title);

/// A box with axes: places values on the page and draws ground, grid, ticks and titles.
class PlotFrame {
 public:
  PlotFrame(Canvas& canvas, const Palette& colours, const Box& area, Axis x, Axis y)
      : canvas_{canvas}, colours_{colours}, area_{area}, x_{std::move(x)}, y_{std::move(y)} {}

  void draw();
  [[nodiscard]] Point at(double x, double y) const;
  /// Within the box alone until `unclip`.
  void clip() const;
  void unclip() const;
  /// A dashed line between two places, its text set above (or below) its end, on the other side where there is no room.
  void limit_line(const std::vector<Point>& places, const std::string& text, bool text_above);
  [[nodiscard]] const Box& area() const { return area_; }

 private:
  Canvas& canvas_;
  const Palette& colours_;
  Box area_;
  Axis x_, y_;
};

/// Title and the line that says whose picture it is, at the top of a plot's page.
void draw_plot_head(Canvas&,
                    const Palette&,
                    const std::string& title,
                    const works::ListeningReport&,
                    const PlotOptions&);

/// The reason why a field is not known, as a sentence; "Not measured." where the report has none.
[[nodiscard]] std::string why_unknown(const works::ListeningReport&, const std::string& field);

/// Errors: Fault::out_of_range for a width outside its range.
[[nodiscard]] Outcome check_plot(const PlotOptions&);
/// An empty page of plot_width x plot_height.
[[nodiscard]] Canvas plot_page(const PlotOptions&);

/// What `draw(Canvas&)` puts on such a page, as a picture file. Errors: those of check_plot; Fault::io from cairo.
template <class Draw>
Result<std::string> plotted(const PlotOptions& options, Draw draw) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  draw(canvas);
  return canvas.finish();
}
/// Where its texts stand [page units].
template <class Draw>
Result<std::vector<PlacedText>> plotted_texts(const PlotOptions& options, Draw draw) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  draw(canvas);
  return canvas.texts();
}

}  // namespace goodside::draw
