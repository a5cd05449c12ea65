#include "draw/centre_label.hpp"

#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace goodside::draw {
namespace {

constexpr double edge_mm = 3.0, clear_of_hole_mm = 2.0, least_letter_mm = 1.6;

/// Set with its middle at `top.x`.
Box put(Canvas& canvas, const std::string& text, Point top, TextStyle style) {
  if (style.wrap_width <= 0.0) return canvas.text(text, top, style, Align::centre);
  style.centred = true;
  return canvas.text(text, {top.x - style.wrap_width / 2.0, top.y}, style);
}

/// Lines of text between two heights of a circle, each within the chord there.
class Lettering {
 public:
  Lettering(Canvas& canvas, Point middle, double radius_mm)
      : canvas_{canvas}, middle_{middle}, radius_{radius_mm - edge_mm} {}

  struct Line {
    std::string text;
    double size{};
    bool bold{};
    int most_lines{1};
  };

  /// Sets them from the top downwards, all made smaller by one factor where they do not fit between the heights.
  void set(const std::vector<Line>& lines, double top, double bottom) {
    double shrink = 1.0;
    while (shrink > 0.45 && !fits(lines, top, bottom, shrink)) shrink *= 0.93;
    double y = top;
    for (const Line& line : lines) {
      if (line.text.empty()) continue;
      const TextStyle style = style_of(line, y, shrink);
      if (y + style.size * 1.2 > bottom) return;
      y += put(canvas_, line.text, {middle_.x, middle_.y + y}, style).height;
    }
  }

 private:
  /// Half of the chord over a line that begins at height y from the middle.
  [[nodiscard]] double half_chord(double y, double height) const {
    const double farthest = std::max(std::abs(y), std::abs(y + height));
    return farthest >= radius_ ? 0.0 : std::sqrt(radius_ * radius_ - farthest * farthest);
  }

  [[nodiscard]] TextStyle style_of(const Line& line, double y, double shrink) const {
    TextStyle style{.size = std::max(least_letter_mm, line.size * shrink), .bold = line.bold};
    const double width = 2.0 * half_chord(y, style.size * 1.25 * line.most_lines);
    if (line.most_lines > 1) {
      style.wrap_width = std::max(5.0, width);
      style.most_lines = line.most_lines;
    } else {
      style.ellipsis_width = std::max(5.0, width);
    }
    return style;
  }

  bool fits(const std::vector<Line>& lines, double top, double bottom, double shrink) const {
    double y = top;
    for (const Line& line : lines) {
      if (line.text.empty()) continue;
      TextStyle style = style_of(line, y, shrink);
      const double room = std::max(style.wrap_width, style.ellipsis_width);
      style.ellipsis_width = 0.0;
      style.most_lines = 0;
      const Box filled = canvas_.measure(line.text, {}, style);
      const double rows = std::round(filled.height / (style.size * 1.164));
      if (filled.width > room + 0.01 || rows > line.most_lines) return false;
      y += filled.height;
    }
    return y <= bottom;
  }

  Canvas& canvas_;
  Point middle_;
  double radius_;
};

}  // namespace

Box draw_centre_label(Canvas& canvas, const CentreLabel& label, Point at) {
  const double radius = label.diameter_m * 500.0, hole = label.hole_diameter_m * 500.0;
  const Point middle{at.x + radius, at.y + radius};
  cairo_t* pen = canvas.pen();
  canvas.ink({});
  cairo_set_line_width(pen, 0.2);
  for (const double r : {radius, hole}) {
    cairo_new_path(pen);
    cairo_arc(pen, middle.x, middle.y, r, 0.0, 2.0 * std::numbers::pi);
    cairo_stroke(pen);
  }
  Lettering lettering{canvas, middle, radius};
  const double clear = hole + clear_of_hole_mm;
  lettering.set(
      {{label.label_name, 3.6, true}, {label.title, 4.4, true, 6}, {label.artist, 3.4, false, 4}},
      -0.74 * radius,
      -clear - 5.5);
  // Beside the hole, where it is free on either side.
  const double beside = radius - edge_mm - 2.0 - clear;
  const TextStyle style{.size = 3.4, .bold = true, .wrap_width = beside, .most_lines = 2};
  const auto put_beside = [&](const std::string& text, double centre_x) {
    if (text.empty()) return;
    const double height = canvas.measure(text, {}, style).height;
    put(canvas, text, {centre_x, middle.y - height / 2.0}, style);
  };
  put_beside(label.side, middle.x - clear - beside / 2.0);
  put_beside(label.speed, middle.x + clear + beside / 2.0);
  std::vector<Lettering::Line> below;
  for (const std::string& track : label.tracks) below.push_back({track, 2.9, false, 2});
  const double foot = 0.62 * radius;
  lettering.set(below, clear + 5.5, foot);
  lettering.set({{label.matrix, 2.9}, {label.catalogue, 2.9}}, foot + 0.5, 0.93 * radius);
  return {at.x, at.y, 2.0 * radius, 2.0 * radius};
}

}  // namespace goodside::draw
