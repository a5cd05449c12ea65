#include "draw/plot_frame.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "draw/words.hpp"

namespace goodside::draw {
namespace {

constexpr double a4_width_pt = 841.89;

void line(cairo_t* pen, Point from, Point to) {
  cairo_new_path(pen);
  cairo_move_to(pen, from.x, from.y);
  cairo_line_to(pen, to.x, to.y);
  cairo_stroke(pen);
}

std::string figure(double value, double step) {
  const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(step) - 1e-9)));
  return fmt::format("{:.{}f}", std::abs(value) < step * 1e-6 ? 0.0 : value, decimals);
}

}  // namespace

double Axis::share(double value) const {
  return octaves ? std::log(value / low) / std::log(high / low) : (value - low) / (high - low);
}

Axis round_axis(double least, double most, const std::string& title) {
  constexpr double most_steps = 8.0;
  const double span = most - least;
  double step = std::pow(10.0, std::floor(std::log10(span / most_steps)));
  for (const double factor : {2.0, 2.5, 2.0})  // 1, 2, 5, 10 times the power of ten
    if (span / step > most_steps) step *= factor;
  Axis axis{least, most, {}, title, false};
  for (double k = std::ceil(least / step - 1e-9); k <= most / step + 1e-9; k += 1.0)
    axis.ticks.push_back({k * step, figure(k * step, step)});
  return axis;
}

Axis thinned(Axis axis, double length, double apart) {
  double last = -apart;
  for (AxisTick& tick : axis.ticks) {
    const double at = length * axis.share(tick.value);
    if (at - last < apart)
      tick.text.clear();
    else
      last = at;
  }
  return axis;
}

Axis clock_axis(double from_s, double to_s, const std::string& title) {
  constexpr std::array<double, 13> steps_s{
      0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 180.0, 300.0, 600.0, 1800.0};
  Axis axis{from_s, to_s, {}, title, false};
  double step_s = steps_s.back();
  for (std::size_t i = steps_s.size(); i-- > 0;)
    if ((to_s - from_s) / steps_s[i] <= 12.0) step_s = steps_s[i];
  for (double at_s = std::ceil(from_s / step_s - 1e-9) * step_s; at_s <= to_s + 1e-9;
       at_s += step_s)
    axis.ticks.push_back({at_s,
                          step_s < 1.0
                              ? fmt::format("{}:{:04.1f}",
                                            static_cast<int>(at_s) / 60,
                                            std::fmod(std::round(at_s * 10.0) / 10.0, 60.0))
                              : clock_s(at_s)});
  return axis;
}

Point PlotFrame::at(double x, double y) const {
  return {area_.x + area_.width * x_.share(x), area_.y + area_.height * (1.0 - y_.share(y))};
}

void PlotFrame::draw() {
  cairo_t* pen = canvas_.pen();
  canvas_.ink(colours_.raised);
  cairo_rectangle(pen, area_.x, area_.y, area_.width, area_.height);
  cairo_fill(pen);
  const double bottom = area_.y + area_.height;
  const TextStyle figures{.size = 14.0, .colour = colours_.ink};
  const TextStyle titles{.size = 14.0, .colour = colours_.quiet_ink};
  double last_right = area_.x - 40.0;
  for (const AxisTick& tick : x_.ticks) {
    const double x = at(tick.value, y_.low).x;
    canvas_.ink(colours_.line);
    cairo_set_line_width(pen, tick.text.empty() ? 0.5 : 1.0);
    line(pen, {x, area_.y}, {x, bottom});
    canvas_.ink(colours_.quiet_ink);
    cairo_set_line_width(pen, 1.0);
    line(pen, {x, bottom}, {x, bottom + (tick.text.empty() ? 3.0 : 6.0)});
    if (tick.text.empty()) continue;
    const Box box = canvas_.measure(tick.text, {x, bottom + 8.0}, figures, Align::centre);
    if (box.x < last_right + 6.0) continue;
    canvas_.text(tick.text, {x, bottom + 8.0}, figures, Align::centre);
    last_right = box.x + box.width;
  }
  for (const AxisTick& tick : y_.ticks) {
    const double y = at(x_.low, tick.value).y;
    canvas_.ink(tick.value == 0.0 ? colours_.quiet_ink : colours_.line);
    cairo_set_line_width(pen, 1.0);
    line(pen, {area_.x, y}, {area_.x + area_.width, y});
    const Box size = canvas_.measure(tick.text, {}, figures);
    canvas_.text(tick.text, {area_.x - 8.0, y - size.height / 2.0}, figures, Align::right);
  }
  canvas_.ink(colours_.quiet_ink);
  cairo_set_line_width(pen, 1.2);
  cairo_rectangle(pen, area_.x, area_.y, area_.width, area_.height);
  cairo_stroke(pen);
  canvas_.text(y_.title, {area_.x, area_.y - 22.0}, titles);
  canvas_.text(x_.title, {area_.x + area_.width, bottom + 27.0}, titles, Align::right);
}

void PlotFrame::clip() const {
  cairo_save(canvas_.pen());
  cairo_rectangle(canvas_.pen(), area_.x, area_.y, area_.width, area_.height);
  cairo_clip(canvas_.pen());
}

void PlotFrame::unclip() const {
  cairo_restore(canvas_.pen());
}

void PlotFrame::limit_line(const std::vector<Point>& places,
                           const std::string& text,
                           bool text_above) {
  cairo_t* pen = canvas_.pen();
  constexpr std::array<double, 2> dashes{9.0, 5.0};
  clip();
  canvas_.ink(colours_.out);
  cairo_set_line_width(pen, 1.8);
  cairo_set_dash(pen, dashes.data(), 2, 0.0);
  cairo_new_path(pen);
  for (const Point& place : places) {
    const Point point = at(place.x, place.y);
    cairo_line_to(pen, point.x, point.y);
  }
  cairo_stroke(pen);
  cairo_set_dash(pen, nullptr, 0, 0.0);
  unclip();
  if (text.empty() || places.empty()) return;
  const Point end = at(places.back().x, places.back().y);
  const TextStyle style{.size = 14.0, .colour = colours_.out};
  const Box size = canvas_.measure(text, {}, style);
  const double above = end.y - size.height - 3.0, below = end.y + 3.0;
  for (const double top : {text_above ? above : below, text_above ? below : above}) {
    const Box box{end.x - size.width - 6.0, top, size.width, size.height};
    const bool inside = box.y >= area_.y && box.y + box.height <= area_.y + area_.height;
    if (!inside || !canvas_.is_free(box)) continue;
    // On a plate of ground, so that it reads over a curve.
    canvas_.ink(colours_.raised);
    cairo_rectangle(pen, box.x - 3.0, box.y, box.width + 6.0, box.height);
    cairo_fill(pen);
    canvas_.text(text, {box.x, box.y}, style);
    return;
  }
}

void draw_plot_head(Canvas& canvas,
                    const Palette& colours,
                    const std::string& title,
                    const works::ListeningReport& report,
                    const PlotOptions& options) {
  canvas.text(title, {30.0, 18.0}, {.size = 26.0, .colour = colours.ink, .bold = true});
  std::string whose = options.title.empty() ? "" : options.title + " · ";
  whose += file_name(report.capture.path);
  if (report.reference) whose += " against " + file_name(report.reference->file.path);
  whose += " · " + report.geometry.format;
  if (!options.date.empty()) whose += " · " + options.date;
  canvas.text(whose,
              {30.0, 54.0},
              {.size = 14.0, .colour = colours.quiet_ink, .ellipsis_width = plot_width - 60.0});
}

std::string why_unknown(const works::ListeningReport& report, const std::string& field) {
  for (const auto& one : report.undetermined)
    if (one.field == field || one.field.starts_with(field + ".") ||
        field.starts_with(one.field + "."))
      return "Not measured: " + one.why + ".";
  return "Not measured.";
}

Outcome check_plot(const PlotOptions& options) {
  if (options.width_px >= 400 && options.width_px <= 8000) return Done{};
  return Error{Fault::out_of_range,
               fmt::format("picture width {} px; use 400 to 8000", options.width_px)};
}

Canvas plot_page(const PlotOptions& options) {
  const double width = options.format == PictureFormat::png ? options.width_px : a4_width_pt;
  return {options.format,
          plot_width,
          plot_height,
          width / plot_width,
          (options.dark ? dark_palette : light_palette).ground};
}

}  // namespace goodside::draw
