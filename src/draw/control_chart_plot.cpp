#include "draw/control_chart_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <span>

namespace goodside::draw {
namespace {

using works::ChartPanel;
using works::ChartPoint;

constexpr double top = 124.0, foot = 62.0, between = 44.0, left = 96.0, right = 150.0;
constexpr std::size_t most_points = 400;

class Drawing {
 public:
  Drawing(Canvas& canvas, const works::ControlChart& chart, const PlotOptions& options)
      : canvas_{canvas}, chart_{chart}, colours_{options.dark ? dark_palette : light_palette} {
    const auto signals = chart.signals();
    const std::string name = chart.what.empty()
                                 ? std::string{works::title(chart.kind)}
                                 : fmt::format("{}: {}", chart.what, works::title(chart.kind));
    canvas_.text(
        name,
        {30.0, 18.0},
        {.size = 26.0, .colour = colours_.ink, .bold = true, .ellipsis_width = plot_width - 60.0});
    std::string whose = options.title;
    for (const std::string& part :
         {options.date,
          signals == 0 ? std::string{"no signal"}
                       : fmt::format("{} signal{}", signals, signals == 1 ? "" : "s"),
          chart.baseline > 0 ? fmt::format("limits from the first {} points", chart.baseline)
                             : std::string{"limits as given"}})
      if (!part.empty()) whose += (whose.empty() ? "" : " · ") + part;
    canvas_.text(whose,
                 {30.0, 54.0},
                 {.size = 15.0, .colour = colours_.quiet_ink, .ellipsis_width = plot_width - 60.0});
  }

  void draw() {
    const auto count = static_cast<double>(chart_.panels.size());
    // The upper strip is the taller.
    const double room = plot_height - top - foot - between * (count - 1.0);
    double y = top;
    for (std::size_t i = 0; i < chart_.panels.size(); ++i) {
      const bool equal = chart_.kind == works::ChartKind::cusum;
      const double share = count < 2.0 ? 1.0 : equal ? 0.5 : i == 0 ? 0.64 : 0.36;
      strip(chart_.panels[i],
            {left, y, plot_width - left - right, room * share},
            i + 1 == chart_.panels.size());
      y += room * share + between;
    }
  }

 private:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }

  static Axis heights(std::span<const ChartPoint> points, const std::string& title) {
    double low = points.front().value, high = low;
    for (const ChartPoint& point : points)
      for (const double value : {point.value,
                                 point.centre,
                                 point.lower.value_or(point.value),
                                 point.upper.value_or(point.value)}) {
        low = std::min(low, value);
        high = std::max(high, value);
      }
    const double room = high > low ? 0.08 * (high - low) : std::max(1e-12, 0.05 * std::abs(high));
    return round_axis(low >= 0.0 && low - room < 0.0 ? 0.0 : low - room, high + room, title);
  }

  void line(const PlotFrame& frame,
            std::span<const ChartPoint> points,
            const std::function<std::optional<double>(const ChartPoint&)>& height) const {
    cairo_new_path(pen());
    bool drawn = false;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const auto value = height(points[i]);
      if (!value) {
        drawn = false;
        continue;
      }
      for (const double x : {static_cast<double>(i) + 0.5, static_cast<double>(i) + 1.5}) {
        const Point at = frame.at(x, *value);
        if (drawn)
          cairo_line_to(pen(), at.x, at.y);
        else
          cairo_move_to(pen(), at.x, at.y);
        drawn = true;
      }
    }
    cairo_stroke(pen());
  }

  void ground(const PlotFrame& frame, std::size_t shown, std::size_t skipped) const {
    const auto base = static_cast<std::size_t>(std::max<std::int64_t>(chart_.baseline, 0));
    if (base <= skipped || base >= shown + skipped) return;
    const Point end = frame.at(static_cast<double>(base - skipped) + 0.5, 0.0);
    const Box& area = frame.area();
    canvas_.ink(colours_.copper, 0.08);
    cairo_rectangle(pen(), area.x, area.y, end.x - area.x, area.height);
    cairo_fill(pen());
  }

  void mark(const PlotFrame& frame, std::size_t i, const ChartPoint& point) const {
    const Point at = frame.at(static_cast<double>(i) + 1.0, point.value);
    cairo_new_path(pen());
    if (point.rules.empty()) {
      canvas_.ink(colours_.good);
      cairo_arc(pen(), at.x, at.y, 3.4, 0.0, 6.283185307179586);
    } else {
      canvas_.ink(colours_.out);
      cairo_move_to(pen(), at.x, at.y - 7.5);
      cairo_line_to(pen(), at.x + 6.8, at.y + 5.0);
      cairo_line_to(pen(), at.x - 6.8, at.y + 5.0);
      cairo_close_path(pen());
    }
    cairo_fill(pen());
  }

  /// The last point's limits in figures, at the strip's right.
  void figures(const PlotFrame& frame, const ChartPoint& last) {
    const Box& area = frame.area();
    double below = area.y - 40.0;
    const auto write = [&](double value, const char* name, Colour colour) {
      const std::string text = fmt::format("{} {}", name, works::chart_figure(value, last.sigma));
      const TextStyle style{.size = 14.0, .colour = colour};
      const Box size = canvas_.measure(text, {}, style);
      const double y = std::max(frame.at(0.5, value).y - 0.5 * size.height, below);
      canvas_.text(text, {area.x + area.width + 8.0, y}, style);
      below = y + size.height;
    };
    if (last.upper) write(*last.upper, "upper", colours_.out);
    if (chart_.kind != works::ChartKind::cusum) write(last.centre, "centre", colours_.ink);
    if (last.lower) write(*last.lower, "lower", colours_.out);
  }

  void strip(const ChartPanel& panel, const Box& area, bool lowest) {
    const std::size_t skipped =
        panel.points.size() > most_points ? panel.points.size() - most_points : 0;
    const std::span<const ChartPoint> points = std::span{panel.points}.subspan(skipped);
    const std::string title = chart_.unit.empty() || chart_.kind == works::ChartKind::cusum
                                  ? panel.name
                                  : fmt::format("{}, {}", panel.name, chart_.unit);
    PlotFrame frame{canvas_,
                    colours_,
                    area,
                    places(points, lowest),
                    thinned(heights(points, title), area.height, 22.0)};
    frame.draw();
    frame.clip();
    ground(frame, points.size(), skipped);
    cairo_set_line_width(pen(), 1.0);
    if (panel.zones) {
      constexpr std::array<double, 2> dots{2.0, 4.0};
      canvas_.ink(colours_.quiet_ink);
      cairo_set_dash(pen(), dots.data(), 2, 0.0);
      for (const double sigmas : {-2.0, -1.0, 1.0, 2.0})
        line(frame, points, [sigmas](const ChartPoint& point) {
          return std::optional{point.centre + sigmas * point.sigma};
        });
      cairo_set_dash(pen(), nullptr, 0, 0.0);
    }
    canvas_.ink(colours_.quiet_ink);
    cairo_set_line_width(pen(), 1.4);
    line(frame, points, [](const ChartPoint& point) { return std::optional{point.centre}; });
    canvas_.ink(colours_.out);
    cairo_set_line_width(pen(), 1.8);
    line(frame, points, [](const ChartPoint& point) { return point.upper; });
    line(frame, points, [](const ChartPoint& point) { return point.lower; });
    canvas_.ink(colours_.ink, 0.7);
    cairo_set_line_width(pen(), 1.2);
    cairo_new_path(pen());
    for (std::size_t i = 0; i < points.size(); ++i) {
      const Point at = frame.at(static_cast<double>(i) + 1.0, points[i].value);
      cairo_line_to(pen(), at.x, at.y);
    }
    cairo_stroke(pen());
    for (std::size_t i = 0; i < points.size(); ++i) mark(frame, i, points[i]);
    frame.unclip();
    figures(frame, points.back());
  }

  /// Points in their order; the labels of a few stand under the lowest strip.
  static Axis places(std::span<const ChartPoint> points, bool lowest) {
    const auto count = static_cast<double>(points.size());
    Axis axis{0.5, count + 0.5, {}, lowest ? "points in their order" : "", false};
    const std::size_t every = std::max<std::size_t>(1, (points.size() + 11) / 12);
    for (std::size_t i = 0; i < points.size(); ++i)
      if (i % every == 0)
        axis.ticks.push_back({static_cast<double>(i) + 1.0, lowest ? points[i].label : ""});
    return axis;
  }

  Canvas& canvas_;
  const works::ControlChart& chart_;
  const Palette& colours_;
};

Outcome check(const works::ControlChart& chart, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  bool usable = !chart.panels.empty();
  for (const ChartPanel& panel : chart.panels) usable = usable && !panel.points.empty();
  if (usable) return Done{};
  return Error{Fault::bad_input, "the chart holds no point, so there is nothing to draw"};
}

}  // namespace

Result<std::string> control_chart_plot(const works::ControlChart& chart,
                                       const PlotOptions& options) {
  if (const auto checked = check(chart, options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Drawing{canvas, chart, options}.draw();
  return canvas.finish();
}

Result<std::vector<PlacedText>> control_chart_plot_texts(const works::ControlChart& chart,
                                                         const PlotOptions& options) {
  if (const auto checked = check(chart, options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Drawing{canvas, chart, options}.draw();
  return canvas.texts();
}

}  // namespace goodside::draw
