#include "draw/curve_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace goodside::draw {
namespace {

constexpr double top = 148.0, foot = 62.0, between = 42.0, left = 90.0, right = 30.0;
constexpr double key_top = 88.0, figures_apart = 22.0;

Colour colour_of(const Palette& palette, CurveInk ink) {
  switch (ink) {
    case CurveInk::ink:
      return palette.ink;
    case CurveInk::copper:
      return palette.copper;
    case CurveInk::good:
      return palette.good;
    case CurveInk::out:
      return palette.out;
    case CurveInk::quiet:
      return palette.quiet_ink;
  }
  return palette.ink;
}

Axis axis_of(double low, double high, const std::string& title, bool percent) {
  Axis axis = percent ? round_axis(100.0 * low, 100.0 * high, title) : round_axis(low, high, title);
  if (!percent) return axis;
  axis.low = low;
  axis.high = high;
  for (AxisTick& tick : axis.ticks) {
    tick.value /= 100.0;
    if (!tick.text.empty() && tick.value != 0.0) tick.text += " %";  // 0 has no unit
  }
  return axis;
}

class Drawing {
 public:
  Drawing(Canvas& canvas, const CurvePicture& picture, const PlotOptions& options)
      : canvas_{canvas}, picture_{picture}, colours_{options.dark ? dark_palette : light_palette} {
    canvas_.text(
        picture.title,
        {30.0, 18.0},
        {.size = 26.0, .colour = colours_.ink, .bold = true, .ellipsis_width = plot_width - 60.0});
    canvas_.text(picture.whose,
                 {30.0, 54.0},
                 {.size = 15.0, .colour = colours_.quiet_ink, .ellipsis_width = plot_width - 60.0});
  }

  void draw() {
    const auto count = static_cast<double>(picture_.panels.size());
    const double height = (plot_height - top - foot - between * (count - 1.0)) / count;
    double y = top;
    key();
    for (const CurvePanel& panel : picture_.panels) {
      const bool last = &panel == &picture_.panels.back();
      Axis x = axis_of(
          picture_.x_low, picture_.x_high, last ? picture_.x_title : "", picture_.x_percent);
      if (!last)
        for (AxisTick& tick : x.ticks) tick.text.clear();
      PlotFrame frame{canvas_,
                      colours_,
                      {left, y, plot_width - left - right, height},
                      std::move(x),
                      thinned(axis_of(panel.y_low, panel.y_high, panel.y_title, panel.percent),
                              height,
                              figures_apart)};
      frame.draw();
      for (const Curve& curve : panel.curves) line(frame, curve);
      for (const CurvePanel::Level& level : panel.levels) across(frame, panel, level);
      y += height + between;
    }
  }

 private:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }

  void dash(bool on) const {
    constexpr std::array<double, 2> dashes{8.0, 5.0};
    cairo_set_dash(pen(), on ? dashes.data() : nullptr, on ? 2 : 0, 0.0);
  }

  void line(const PlotFrame& frame, const Curve& curve) {
    canvas_.ink(colour_of(colours_, curve.ink));
    cairo_set_line_width(pen(), 2.4);
    frame.clip();
    dash(curve.dashed);
    cairo_new_path(pen());
    double level = 0.0;
    for (const Point& place : curve.points) {
      const Point at = frame.at(place.x, place.y);
      if (curve.steps && &place != &curve.points.front()) cairo_line_to(pen(), at.x, level);
      cairo_line_to(pen(), at.x, at.y);
      level = at.y;
    }
    cairo_stroke(pen());
    dash(false);
    if (curve.dots)
      for (const Point& place : curve.points) {
        const Point at = frame.at(place.x, place.y);
        cairo_new_path(pen());
        cairo_arc(pen(), at.x, at.y, 4.0, 0.0, 6.283185307179586);
        cairo_fill(pen());
      }
    frame.unclip();
  }

  void across(PlotFrame& frame, const CurvePanel& panel, const CurvePanel::Level& level) const {
    if (level.upright)
      frame.limit_line({{level.at, panel.y_high}, {level.at, panel.y_low}}, level.text, true);
    else
      frame.limit_line({{picture_.x_low, level.at}, {picture_.x_high, level.at}}, level.text, true);
  }

  void key() {
    double x = left;
    std::vector<std::string> named;
    for (const CurvePanel& panel : picture_.panels)
      for (const Curve& curve : panel.curves) {
        if (curve.name.empty() || std::ranges::find(named, curve.name) != named.end()) continue;
        named.push_back(curve.name);
        canvas_.ink(colour_of(colours_, curve.ink));
        cairo_set_line_width(pen(), 2.4);
        dash(curve.dashed);
        cairo_new_path(pen());
        cairo_move_to(pen(), x, key_top + 9.0);
        cairo_line_to(pen(), x + 30.0, key_top + 9.0);
        cairo_stroke(pen());
        dash(false);
        const Box box =
            canvas_.text(curve.name, {x + 38.0, key_top}, {.size = 14.0, .colour = colours_.ink});
        x = box.x + box.width + 28.0;
      }
  }

  Canvas& canvas_;
  const CurvePicture& picture_;
  const Palette& colours_;
};

Outcome check(const CurvePicture& picture, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  bool usable = !picture.panels.empty() && picture.panels.size() <= 3 &&
                std::isfinite(picture.x_low) && std::isfinite(picture.x_high) &&
                picture.x_low < picture.x_high;
  for (const CurvePanel& panel : picture.panels)
    usable = usable && std::isfinite(panel.y_low) && std::isfinite(panel.y_high) &&
             panel.y_low < panel.y_high;
  if (usable) return Done{};
  return Error{Fault::bad_input, "there is nothing to draw: an axis has no extent"};
}

}  // namespace

Result<std::string> curve_plot(const CurvePicture& picture, const PlotOptions& options) {
  if (const auto checked = check(picture, options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Drawing{canvas, picture, options}.draw();
  return canvas.finish();
}

Result<std::vector<PlacedText>> curve_plot_texts(const CurvePicture& picture,
                                                 const PlotOptions& options) {
  if (const auto checked = check(picture, options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Drawing{canvas, picture, options}.draw();
  return canvas.texts();
}

}  // namespace goodside::draw
