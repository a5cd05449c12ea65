#include "draw/wow_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

namespace goodside::draw {
namespace {

constexpr double percent = 100.0;

/// A step this many times the usual is a gap.
constexpr double gap_steps = 3.5;

double usual_step_s(const std::vector<double>& time_s) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < time_s.size(); ++i) steps.push_back(time_s[i] - time_s[i - 1]);
  if (steps.empty()) return 0.0;
  const auto middle = steps.begin() + std::ssize(steps) / 2;
  std::nth_element(steps.begin(), middle, steps.end());
  return *middle;
}

double largest(const works::WowCurve& curve) {
  double most = 0.0;
  for (const double d : curve.deviation) most = std::max(most, std::abs(d));
  return most;
}

/// The picture's scale is set by nearly all of the curve: a skip's spike may leave it.
double usual_reach(const works::WowCurve& curve) {
  std::vector<double> sizes;
  for (const double d : curve.deviation) sizes.push_back(std::abs(d));
  const auto most = sizes.begin() + std::ssize(sizes) * 995 / 1000;
  std::nth_element(sizes.begin(), most, sizes.end());
  return *most;
}

struct LimitCurve {
  std::vector<Point> upper, lower;  ///< capture time, percent
  std::string text;
};

/// What an offset at its limit would do: e over the radius at each moment.
std::vector<LimitCurve> limit_curves(const works::ListeningReport& report,
                                     const works::Limits& limits) {
  std::vector<LimitCurve> all;
  const double from_s = report.wow.curve.time_s.front(), to_s = report.wow.curve.time_s.back();
  const auto curve = [&](const std::string& text, const auto& deviation_at) {
    LimitCurve limit{{}, {}, text};
    constexpr int points = 60;
    for (int i = 0; i <= points; ++i) {
      const double at_s = from_s + (to_s - from_s) * i / points;
      const double deviation = deviation_at(at_s) * percent;
      limit.upper.push_back({at_s, deviation});
      limit.lower.push_back({at_s, -deviation});
    }
    all.push_back(std::move(limit));
  };
  const auto& side = report.geometry;
  if (limits.eccentricity_m && report.alignment && report.alignment->found &&
      side.outer_radius_m > side.inner_radius_m && side.inner_radius_m > 0.0) {
    const double start_s = report.alignment->programme_start_s,
                 length_s = report.alignment->programme_end_s - start_s;
    curve(fmt::format("hole {:g} mm off centre, the limit", *limits.eccentricity_m * 1e3),
          [&](double at_s) {
            const double share =
                length_s > 0.0 ? std::clamp((at_s - start_s) / length_s, 0.0, 1.0) : 0.0;
            return *limits.eccentricity_m /
                   std::lerp(side.outer_radius_m, side.inner_radius_m, share);
          });
  }
  if (limits.once_per_rev_peak)
    curve(fmt::format("peak once a turn {:g} %, the limit", *limits.once_per_rev_peak * percent),
          [&](double) { return *limits.once_per_rev_peak; });
  return all;
}

void draw_range(Canvas& canvas, PlotFrame& frame, const works::WowCurve& curve, Colour ink) {
  cairo_t* pen = canvas.pen();
  frame.clip();
  canvas.ink(ink);
  cairo_new_path(pen);
  const auto spans = wow_spans(curve, static_cast<std::size_t>(frame.area().width / 2.0));
  const double gap_s = (gap_steps - 1.0) * usual_step_s(curve.time_s);
  for (std::size_t i = 0; i < spans.size(); ++i) {
    WowSpan span = spans[i];
    // Where the curve runs on, neighbours touch.
    if (i > 0 && span.from_s - spans[i - 1].to_s < gap_s) {
      span.from_s = spans[i - 1].to_s;
      span.least = std::min(span.least, spans[i - 1].most);
      span.most = std::max(span.most, spans[i - 1].least);
    }
    // A range is never thinner than a line.
    const Point upper = frame.at(span.from_s, span.most * percent),
                lower = frame.at(span.to_s, span.least * percent);
    const double height = std::max(1.6, lower.y - upper.y);
    cairo_rectangle(pen,
                    upper.x,
                    0.5 * (upper.y + lower.y - height),
                    std::max(0.8, lower.x - upper.x) + 0.2,
                    height);
  }
  cairo_fill(pen);
  frame.unclip();
}

void draw_line(
    Canvas& canvas, PlotFrame& frame, const works::WowCurve& curve, const Axis& time, Colour ink) {
  cairo_t* pen = canvas.pen();
  const double gap_s = gap_steps * usual_step_s(curve.time_s);
  frame.clip();
  canvas.ink(ink);
  cairo_set_line_width(pen, 2.0);
  cairo_new_path(pen);
  double before_s = -1e300;
  for (std::size_t i = 0; i < curve.time_s.size(); ++i) {
    const double at_s = curve.time_s[i];
    if (at_s < time.low - 1.0 || at_s > time.high + 1.0) continue;
    const Point point = frame.at(at_s, curve.deviation[i] * percent);
    if (at_s - before_s > gap_s) cairo_new_sub_path(pen);
    cairo_line_to(pen, point.x, point.y);
    before_s = at_s;
  }
  cairo_stroke(pen);
  frame.unclip();
}

std::string figures(const works::ListeningReport& report) {
  const auto& wow = report.wow;
  std::string text;
  const auto add = [&](const std::string& part) { text += (text.empty() ? "" : " · ") + part; };
  if (wow.eccentricity_m) add(fmt::format("hole {:.3f} mm off centre", *wow.eccentricity_m * 1e3));
  if (wow.once_per_rev_peak)
    add(fmt::format("once a turn {:.3f} % outside, {:.3f} % inside",
                    wow.once_per_rev_peak->outer * percent,
                    wow.once_per_rev_peak->inner * percent));
  if (wow.weighted_2sigma)
    add(fmt::format("wow and flutter {:.3f} % (weighted 2σ, player included)",
                    *wow.weighted_2sigma * percent));
  return text;
}

/// Five turns, or what there is, about the largest deviation.
Axis closer(const works::ListeningReport& report) {
  const auto& curve = report.wow.curve;
  const double width_s = std::min(5.0 * 60.0 / std::max(report.geometry.rpm, 1.0),
                                  curve.time_s.back() - curve.time_s.front());
  const auto worst = std::ranges::max_element(
      curve.deviation, [](double a, double b) { return std::abs(a) < std::abs(b); });
  const double middle_s = curve.time_s[static_cast<std::size_t>(worst - curve.deviation.begin())];
  const double from_s = std::clamp(middle_s - width_s / 2.0,
                                   curve.time_s.front(),
                                   std::max(curve.time_s.front(), curve.time_s.back() - width_s));
  return clock_axis(from_s, from_s + width_s, "capture time, min:s");
}

void draw(Canvas& canvas, const works::ListeningReport& report, const PlotOptions& options) {
  const Palette& colours = options.dark ? dark_palette : light_palette;
  draw_plot_head(canvas, colours, "Wow: how the speed swings", report, options);
  const auto& curve = report.wow.curve;
  if (curve.time_s.size() < 2 || curve.time_s.size() != curve.deviation.size()) {
    canvas.text(why_unknown(report, "wow"),
                {30.0, 100.0},
                {.size = 17.0, .colour = colours.ink, .wrap_width = plot_width - 60.0});
    return;
  }
  canvas.text(figures(report),
              {30.0, 78.0},
              {.size = 16.0, .colour = colours.ink, .ellipsis_width = plot_width - 60.0});
  const auto limits = limit_curves(report, options.limits);
  double reach = usual_reach(curve) * percent * 1.15;
  for (const LimitCurve& limit : limits)
    for (const Point& point : limit.upper) reach = std::max(reach, point.y * 1.35);
  reach = std::max(reach, 0.02);

  const Axis whole_time =
      clock_axis(curve.time_s.front(), curve.time_s.back(), "capture time, min:s");
  PlotFrame whole{canvas,
                  colours,
                  {90.0, 142.0, plot_width - 120.0, 210.0},
                  whole_time,
                  round_axis(-reach, reach, "the whole side: speed deviation, %")};
  whole.draw();
  // Few points make a line; many, of a whole side, the range of each moment.
  if (static_cast<double>(curve.time_s.size()) > 12.0 * whole.area().width)
    draw_range(canvas, whole, curve, colours.copper);
  else
    draw_line(canvas, whole, curve, whole_time, colours.copper);
  for (const LimitCurve& limit : limits) {
    whole.limit_line(limit.upper, limit.text, true);
    whole.limit_line(limit.lower, "", false);
  }

  const Axis time = closer(report);
  const double near_reach = std::max(largest(curve) * percent * 1.1, 0.02);
  PlotFrame near{canvas,
                 colours,
                 {90.0, 430.0, plot_width - 120.0, 140.0},
                 time,
                 round_axis(-near_reach, near_reach, "turns about the largest deviation, %")};
  near.draw();
  draw_line(canvas, near, curve, time, colours.copper);
}

}  // namespace

std::vector<WowSpan> wow_spans(const works::WowCurve& curve, std::size_t count) {
  std::vector<WowSpan> spans;
  const std::size_t points = std::min(curve.time_s.size(), curve.deviation.size());
  if (points == 0 || count == 0) return spans;
  const double step_s = usual_step_s(curve.time_s);
  const double start_s = curve.time_s.front();
  const double width_s = (curve.time_s[points - 1] + step_s - start_s) / static_cast<double>(count);
  double before_s = -1e300;
  double slot = -1.0;
  for (std::size_t i = 0; i < points; ++i) {
    const double at_s = curve.time_s[i], d = curve.deviation[i];
    const double now = width_s > 0.0 ? std::floor((at_s - start_s) / width_s) : 0.0;
    if (spans.empty() || now != slot || at_s - before_s > gap_steps * step_s)
      spans.push_back({at_s, at_s + step_s, d, d});
    WowSpan& span = spans.back();
    span.to_s = at_s + step_s;
    span.least = std::min(span.least, d);
    span.most = std::max(span.most, d);
    slot = now;
    before_s = at_s;
  }
  return spans;
}

Result<std::string> wow_plot(const works::ListeningReport& report, const PlotOptions& options) {
  return plotted(options, [&](Canvas& canvas) { draw(canvas, report, options); });
}

Result<std::vector<PlacedText>> wow_plot_texts(const works::ListeningReport& report,
                                               const PlotOptions& options) {
  return plotted_texts(options, [&](Canvas& canvas) { draw(canvas, report, options); });
}

}  // namespace goodside::draw
