#include "draw/charts.hpp"

#include <cairo.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace goodside::draw {
namespace {

constexpr double head_height = 84.0, key_height = 26.0, left = 90.0, foot = 62.0;
constexpr double between = 74.0;
constexpr std::array<const char*, state_map_states> state_words{
    "works, whatever the tolerances do",
    "works, but not at the tolerances' worst",
    "short fill",
    "groove not filled",
    "overheated",
    "not set",
    "dishes",
    "out of thickness",
    "cannot be"};

void head(Canvas& canvas,
          const Palette& colours,
          const std::string& title,
          const std::string& whose) {
  canvas.text(
      title,
      {30.0, 18.0},
      {.size = 26.0, .colour = colours.ink, .bold = true, .ellipsis_width = plot_width - 60.0});
  canvas.text(whose,
              {30.0, 54.0},
              {.size = 15.0, .colour = colours.quiet_ink, .ellipsis_width = plot_width - 60.0});
}

class Pencil {
 public:
  Pencil(Canvas& canvas, const Palette& colours) : canvas_{canvas}, colours_{colours} {}

  /// Six kinds of line: three inks, each drawn through and dashed.
  void take(std::size_t kind) const {
    const std::array<Colour, 3> inks{colours_.copper, colours_.ink, colours_.good};
    const std::array<double, 2> dashes{7.0, 4.0};
    canvas_.ink(inks[kind % 3]);
    cairo_set_line_width(canvas_.pen(), 2.4);
    cairo_set_dash(canvas_.pen(), dashes.data(), kind >= 3 ? 2 : 0, 0.0);
  }
  void put_down() const { cairo_set_dash(canvas_.pen(), nullptr, 0, 0.0); }

 private:
  Canvas& canvas_;
  const Palette& colours_;
};

struct Span {
  double low{HUGE_VAL}, high{-HUGE_VAL};
  void take(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  }
  [[nodiscard]] bool any() const { return high >= low; }
};

void key(Canvas& canvas, const Palette& colours, const ChartFrame& frame, double y) {
  const Pencil pencil{canvas, colours};
  double x = left;
  for (std::size_t i = 0; i < frame.curves.size(); ++i) {
    pencil.take(i);
    cairo_new_path(canvas.pen());
    cairo_move_to(canvas.pen(), x, y + 9.5);
    cairo_line_to(canvas.pen(), x + 26.0, y + 9.5);
    cairo_stroke(canvas.pen());
    pencil.put_down();
    const Box box =
        canvas.text(frame.curves[i].name, {x + 33.0, y}, {.size = 14.0, .colour = colours.ink});
    x = box.x + box.width + 22.0;
  }
}

void events(Canvas& canvas,
            const Palette& colours,
            const PlotFrame& plot,
            const ChartFrame& frame) {
  const TextStyle style{.size = 13.0, .colour = colours.quiet_ink};
  constexpr int rows = 4;
  constexpr double apart = 8.0;
  const Box& area = plot.area();
  canvas.ink(colours.quiet_ink);
  cairo_set_line_width(canvas.pen(), 1.0);
  // Lines first: a text that runs over its neighbour's line stays whole.
  for (const ChartEvent& event : frame.events) {
    const double x = plot.at(event.x, 0.0).x;
    cairo_new_path(canvas.pen());
    cairo_move_to(canvas.pen(), x, area.y);
    cairo_line_to(canvas.pen(), x, area.y + area.height);
    cairo_stroke(canvas.pen());
  }
  for (const ChartEvent& event : frame.events) {
    const double x = plot.at(event.x, 0.0).x;
    for (int row = 0; row < rows; ++row) {
      Box box = canvas.measure(event.text, {x + 4.0, area.y + 4.0 + 17.0 * row}, style);
      if (box.x + box.width > area.x + area.width) box.x = x - 4.0 - box.width;
      if (!canvas.is_free({box.x - apart, box.y, box.width + 2.0 * apart, box.height})) continue;
      canvas.ink(colours.raised);
      cairo_rectangle(canvas.pen(), box.x - 1.0, box.y, box.width + 2.0, box.height);
      cairo_fill(canvas.pen());
      canvas.text(event.text, {box.x, box.y}, style);
      break;
    }
  }
}

/// In a low frame only every so many ticks carry figures.
Axis thinned(Axis axis, double height) {
  constexpr double least_apart = 20.0;
  const auto count = static_cast<double>(axis.ticks.size());
  const auto every =
      static_cast<std::size_t>(std::max(1.0, std::ceil(least_apart * count / height)));
  std::size_t i = 0;
  std::erase_if(axis.ticks, [&](const AxisTick&) { return i++ % every != 0; });
  return axis;
}

void frame_of(Canvas& canvas, const Palette& colours, const ChartFrame& frame, const Box& area) {
  Span x, y;
  for (const ChartCurve& curve : frame.curves)
    for (const Point& place : curve.places) {
      x.take(place.x);
      y.take(place.y);
    }
  for (const ChartLevel& level : frame.levels) y.take(level.y);
  const double room = std::max(0.08 * (y.high - y.low), 1e-9 + 1e-3 * std::abs(y.high));
  PlotFrame plot{
      canvas,
      colours,
      area,
      round_axis(x.low, std::max(x.high, x.low + 1e-9), frame.x_title),
      thinned(round_axis(y.low - (y.low == 0.0 ? 0.0 : room), y.high + 2.0 * room, frame.y_title),
              area.height)};
  plot.draw();
  key(canvas, colours, frame, area.y - 22.0 - key_height);
  plot.clip();
  const Pencil pencil{canvas, colours};
  for (std::size_t i = 0; i < frame.curves.size(); ++i) {
    pencil.take(i);
    cairo_new_path(canvas.pen());
    for (const Point& place : frame.curves[i].places) {
      const Point at = plot.at(place.x, place.y);
      cairo_line_to(canvas.pen(), at.x, at.y);
    }
    cairo_stroke(canvas.pen());
    pencil.put_down();
  }
  plot.unclip();
  events(canvas, colours, plot, frame);
  for (const ChartLevel& level : frame.levels)
    plot.limit_line({{x.low, level.y}, {x.high, level.y}}, level.text, true);
}

void draw_charts(Canvas& canvas, const Charts& all, const PlotOptions& options) {
  const Palette& colours = options.dark ? dark_palette : light_palette;
  head(canvas, colours, all.title, all.whose);
  double shares = 0.0;
  for (const ChartFrame& frame : all.frames) shares += frame.height;
  const auto count = static_cast<double>(all.frames.size());
  const double room = plot_height - head_height - count * (key_height + 24.0) - foot -
                      (count - 1.0) * (between - 22.0);
  double y = head_height;
  for (const ChartFrame& frame : all.frames) {
    y += key_height + 24.0;
    const double height = room * frame.height / shares;
    frame_of(canvas, colours, frame, {left, y, plot_width - left - 30.0, height});
    y += height + between - 22.0;
  }
}

void mark(Canvas& canvas, const Palette& colours, StateMap::State state, Point at, double r) {
  cairo_t* const pen = canvas.pen();
  using enum StateMap::State;
  const bool good_one = state == good || state == only_just;
  canvas.ink(good_one ? colours.good : state == impossible ? colours.quiet_ink : colours.out);
  cairo_set_line_width(pen, 1.8);
  cairo_new_path(pen);
  const auto polygon = [&](std::initializer_list<Point> corners, bool filled) {
    for (const Point& corner : corners)
      cairo_line_to(pen, at.x + r * corner.x, at.y + r * corner.y);
    cairo_close_path(pen);
    filled ? cairo_fill(pen) : cairo_stroke(pen);
  };
  switch (state) {
    case good:
    case only_just:
      cairo_arc(pen, at.x, at.y, r, 0.0, 2.0 * std::numbers::pi);
      state == good ? cairo_fill(pen) : cairo_stroke(pen);
      break;
    case short_of:
      polygon({{0.0, -1.0}, {1.0, 0.9}, {-1.0, 0.9}}, true);
      break;
    case cold:
      polygon({{0.0, 1.0}, {1.0, -0.9}, {-1.0, -0.9}}, false);
      break;
    case hot:
      cairo_move_to(pen, at.x - r, at.y - r);
      cairo_line_to(pen, at.x + r, at.y + r);
      cairo_move_to(pen, at.x - r, at.y + r);
      cairo_line_to(pen, at.x + r, at.y - r);
      cairo_stroke(pen);
      break;
    case soft:
      polygon({{-0.9, -0.9}, {0.9, -0.9}, {0.9, 0.9}, {-0.9, 0.9}}, false);
      break;
    case bent:
      cairo_arc(pen, at.x, at.y + 0.4 * r, r, std::numbers::pi, 2.0 * std::numbers::pi);
      cairo_stroke(pen);
      break;
    case thick:
      polygon({{-0.9, -0.5}, {0.9, -0.5}, {0.9, 0.5}, {-0.9, 0.5}}, true);
      break;
    case impossible:
      cairo_move_to(pen, at.x - 0.4 * r, at.y);
      cairo_line_to(pen, at.x + 0.4 * r, at.y);
      cairo_stroke(pen);
      break;
  }
}

void draw_map(Canvas& canvas, const StateMap& map, const PlotOptions& options) {
  const Palette& colours = options.dark ? dark_palette : light_palette;
  head(canvas, colours, map.title, map.whose);
  constexpr double key_width = 330.0;
  const Box area{left,
                 head_height + 30.0,
                 plot_width - left - 30.0 - key_width,
                 plot_height - head_height - 30.0 - foot};
  const auto margin = [](const std::vector<double>& values) {
    return 0.6 * (values.back() - values.front()) / static_cast<double>(values.size() - 1);
  };
  const double mx = margin(map.x), my = margin(map.y);
  PlotFrame plot{canvas,
                 colours,
                 area,
                 round_axis(map.x.front() - mx, map.x.back() + mx, map.x_title),
                 round_axis(map.y.front() - my, map.y.back() + my, map.y_title)};
  plot.draw();
  const double r = std::clamp(0.3 * std::min(area.width / static_cast<double>(map.x.size()),
                                             area.height / static_cast<double>(map.y.size())),
                              2.0,
                              9.0);
  std::array<bool, state_map_states> met{};
  for (std::size_t i = 0; i < map.states.size(); ++i) {
    met[static_cast<std::size_t>(map.states[i])] = true;
    mark(canvas,
         colours,
         map.states[i],
         plot.at(map.x[i % map.x.size()], map.y[i / map.x.size()]),
         r);
  }
  const bool inside = map.now.x >= map.x.front() - mx && map.now.x <= map.x.back() + mx &&
                      map.now.y >= map.y.front() - my && map.now.y <= map.y.back() + my;
  const auto ring = [&](Point at) {
    canvas.ink(colours.ink);
    cairo_set_line_width(canvas.pen(), 2.4);
    cairo_new_path(canvas.pen());
    cairo_arc(canvas.pen(), at.x, at.y, r + 5.0, 0.0, 2.0 * std::numbers::pi);
    cairo_stroke(canvas.pen());
  };
  if (inside) ring(plot.at(map.now.x, map.now.y));
  const double x = area.x + area.width + 34.0;
  double y = area.y + 6.0;
  for (std::size_t i = 0; i < state_map_states; ++i) {
    if (!met[i]) continue;
    mark(canvas, colours, static_cast<StateMap::State>(i), {x, y + 10.0}, 8.0);
    const Box box =
        canvas.text(state_words[i],
                    {x + 24.0, y},
                    {.size = 15.0, .colour = colours.ink, .wrap_width = key_width - 70.0});
    y = box.y + box.height + 14.0;
  }
  if (!inside) return;
  ring({x, y + 14.0});
  canvas.text("the setting at hand", {x + 24.0, y + 4.0}, {.size = 15.0, .colour = colours.ink});
}

Outcome usable(const Charts& all) {
  const bool drawn = !all.frames.empty() && all.frames.size() <= 3 &&
                     std::ranges::all_of(all.frames, [](const ChartFrame& frame) {
                       return !frame.curves.empty() && frame.curves.size() <= 6 &&
                              std::ranges::all_of(frame.curves, [](const ChartCurve& curve) {
                                return curve.places.size() > 1;
                              });
                     });
  if (drawn) return Done{};
  return Error{Fault::bad_input, "there is nothing to draw: a chart needs curves of two points"};
}

Outcome usable(const StateMap& map) {
  if (map.x.size() > 1 && map.y.size() > 1 && map.states.size() == map.x.size() * map.y.size())
    return Done{};
  return Error{Fault::bad_input, "there is nothing to draw: a map needs two values a side"};
}

}  // namespace

Result<std::string> charts(const Charts& all, const PlotOptions& options) {
  if (const auto held = check_plot(options); !held) return held.error();
  if (const auto held = usable(all); !held) return held.error();
  Canvas canvas = plot_page(options);
  draw_charts(canvas, all, options);
  return canvas.finish();
}

Result<std::vector<PlacedText>> charts_texts(const Charts& all, const PlotOptions& options) {
  if (const auto held = check_plot(options); !held) return held.error();
  if (const auto held = usable(all); !held) return held.error();
  Canvas canvas = plot_page(options);
  draw_charts(canvas, all, options);
  return canvas.texts();
}

Result<std::string> state_map(const StateMap& map, const PlotOptions& options) {
  if (const auto held = check_plot(options); !held) return held.error();
  if (const auto held = usable(map); !held) return held.error();
  Canvas canvas = plot_page(options);
  draw_map(canvas, map, options);
  return canvas.finish();
}

Result<std::vector<PlacedText>> state_map_texts(const StateMap& map, const PlotOptions& options) {
  if (const auto held = check_plot(options); !held) return held.error();
  if (const auto held = usable(map); !held) return held.error();
  Canvas canvas = plot_page(options);
  draw_map(canvas, map, options);
  return canvas.texts();
}

}  // namespace goodside::draw
