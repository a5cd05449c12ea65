#include "draw/strip_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "draw/marks.hpp"
#include "draw/noise_scale.hpp"

namespace goodside::draw {
namespace {

/// Just under a round figure, so that its label stands clear of the time's.
constexpr double lowest_dB = -64.0;
constexpr Box faults_box{90.0, 110.0, plot_width - 120.0, 330.0};
constexpr double band_top = 520.0, band_height = 40.0;

/// The clock that the picture is drawn by.
struct Clock {
  bool programme{};
  double from_s{}, to_s{};
  [[nodiscard]] double of(const works::FaultEvent& fault) const {
    return programme && fault.programme_s ? *fault.programme_s : fault.capture_s;
  }
};

Clock clock_of(const works::ListeningReport& report) {
  Clock clock{.to_s = report.capture.duration_s};
  if (report.alignment && report.alignment->found && report.reference) {
    clock.programme = true;
    clock.to_s = report.reference->file.duration_s;
    for (const auto& fault : report.faults)
      if (fault.programme_s) clock.to_s = std::max(clock.to_s, *fault.programme_s);
  }
  clock.to_s = std::max(clock.to_s, 1.0);
  return clock;
}

/// Mean noise of each row of the polar map: a band of turns is a stretch of time.
struct RowNoise {
  double from_s{}, to_s{}, dB{};
};

std::vector<RowNoise> rows_of(const works::ListeningReport& report, const Clock& clock) {
  std::vector<RowNoise> rows;
  const auto& polar = report.noise.polar;
  if (!clock.programme || !polar || report.geometry.rpm <= 0.0) return rows;
  const double row_s = polar->revolutions_per_row * 60.0 / report.geometry.rpm;
  for (int row = 0; row < polar->rows; ++row) {
    double power = 0.0;
    int cells = 0;
    for (int column = 0; column < polar->columns; ++column)
      if (const auto& dB = polar->dB[static_cast<std::size_t>(row * polar->columns + column)]) {
        power += std::pow(10.0, *dB / 10.0);
        ++cells;
      }
    if (cells > 0)
      rows.push_back({row * row_s, (row + 1) * row_s, 10.0 * std::log10(power / cells)});
  }
  return rows;
}

void draw_faults(Canvas& canvas,
                 const PlotFrame& frame,
                 const works::ListeningReport& report,
                 const Clock& clock,
                 const Palette& colours) {
  cairo_t* pen = canvas.pen();
  frame.clip();
  for (const auto& fault : report.faults) {
    const Point top = frame.at(clock.of(fault), std::max(fault.peak_dB, lowest_dB));
    const Point foot = frame.at(clock.of(fault), lowest_dB);
    canvas.ink(colours.quiet_ink);
    cairo_set_line_width(pen, 1.2);
    cairo_move_to(pen, foot.x, foot.y);
    cairo_line_to(pen, top.x, top.y);
    cairo_stroke(pen);
  }
  frame.unclip();
  for (const auto& fault : report.faults)
    draw_mark(canvas,
              fault.kind,
              {.at = frame.at(clock.of(fault), std::clamp(fault.peak_dB, lowest_dB, 0.0)),
               .inwards_rad = std::numbers::pi / 2.0,
               .radius = 0.8 * mark_radius(fault.peak_dB)},
              colours);
}

void draw_patterns(Canvas& canvas,
                   const PlotFrame& frame,
                   const works::ListeningReport& report,
                   const Clock& clock,
                   const Palette& colours) {
  std::map<int, std::pair<double, double>> spans;
  for (const auto& fault : report.faults) {
    if (!fault.pattern) continue;
    const double at_s = clock.of(fault);
    const auto [span, fresh] = spans.try_emplace(*fault.pattern, at_s, at_s);
    span->second = {std::min(span->second.first, at_s), std::max(span->second.second, at_s)};
  }
  canvas.ink(colours.copper);
  for (const auto& [id, span] : spans) {
    const Point from = frame.at(span.first, lowest_dB), to = frame.at(span.second, lowest_dB);
    cairo_rectangle(canvas.pen(), from.x - 2.0, from.y - 5.0, to.x - from.x + 4.0, 4.0);
    cairo_fill(canvas.pen());
  }
}

/// Crossed out where nothing was heard.
void draw_unheard(Canvas& canvas,
                  const PlotFrame& frame,
                  const works::ListeningReport& report,
                  const Clock& clock,
                  const Palette& colours) {
  if (!clock.programme || report.heard.empty()) return;
  auto heard = report.heard;
  std::ranges::sort(heard, {}, &works::Interval_s::from_s);
  heard.push_back({clock.to_s, clock.to_s});
  double to_s = clock.from_s;
  cairo_t* pen = canvas.pen();
  for (const auto& one : heard) {
    const double left = frame.at(to_s, 0.0).x,
                 right = frame.at(std::min(one.from_s, clock.to_s), 0.0).x;
    to_s = std::max(to_s, one.to_s);
    if (right - left < 4.0) continue;
    canvas.ink(colours.line);
    cairo_rectangle(pen, left, faults_box.y, right - left, faults_box.height);
    cairo_fill(pen);
    canvas.ink(colours.quiet_ink);
    cairo_set_line_width(pen, 1.5);
    cairo_move_to(pen, left, faults_box.y);
    cairo_line_to(pen, right, faults_box.y + faults_box.height);
    cairo_move_to(pen, left, faults_box.y + faults_box.height);
    cairo_line_to(pen, right, faults_box.y);
    cairo_stroke(pen);
  }
}

void draw_noise(Canvas& canvas,
                const PlotFrame& frame,
                const std::vector<RowNoise>& rows,
                const Clock& clock,
                const Palette& colours) {
  cairo_t* pen = canvas.pen();
  const TextStyle words{.size = 14.0, .colour = colours.quiet_ink};
  if (rows.empty()) {
    canvas.text("Noise by the turn: not measured.", {faults_box.x, band_top}, words);
    return;
  }
  const auto [least, most] = std::ranges::minmax(rows, {}, &RowNoise::dB);
  const AmountScale scale = round_scale(least.dB, most.dB);
  for (const RowNoise& row : rows) {
    if (row.from_s >= clock.to_s) continue;
    const double left = frame.at(row.from_s, 0.0).x,
                 right = frame.at(std::min(row.to_s, clock.to_s), 0.0).x;
    canvas.ink(amount_colour(scale.amount(row.dB)));
    cairo_rectangle(pen, left, band_top, right - left + 0.3, band_height);
    cairo_fill(pen);
  }
  canvas.ink(colours.quiet_ink);
  cairo_set_line_width(pen, 1.0);
  cairo_rectangle(pen, faults_box.x, band_top, faults_box.width, band_height);
  cairo_stroke(pen);
  const double key_top = band_top + band_height + 14.0, key_width = 220.0;
  canvas.text("Noise that is not programme, mean of each turn:", {faults_box.x, key_top}, words);
  const double key_left = faults_box.x + 420.0;
  constexpr int steps = 44;
  for (int k = 0; k < steps; ++k) {
    canvas.ink(amount_colour((k + 0.5) / steps));
    cairo_rectangle(pen, key_left + key_width * k / steps, key_top, key_width / steps + 0.3, 18.0);
    cairo_fill(pen);
  }
  canvas.text(fmt::format("{:g} dB", scale.low), {key_left - 10.0, key_top}, words, Align::right);
  canvas.text(fmt::format("{:g} dB", scale.high), {key_left + key_width + 10.0, key_top}, words);
}

void draw(Canvas& canvas, const works::ListeningReport& report, const PlotOptions& options) {
  const Palette& colours = options.dark ? dark_palette : light_palette;
  draw_plot_head(canvas, colours, "The side in time", report, options);
  const Clock clock = clock_of(report);
  PlotFrame frame{canvas,
                  colours,
                  faults_box,
                  clock_axis(clock.from_s,
                             clock.to_s,
                             clock.programme ? "programme time, min:s" : "capture time, min:s"),
                  round_axis(lowest_dB, 0.0, "peak of each fault, dB re full scale")};
  frame.draw();
  draw_unheard(canvas, frame, report, clock, colours);
  draw_faults(canvas, frame, report, clock, colours);
  draw_patterns(canvas, frame, report, clock, colours);
  draw_noise(canvas, frame, rows_of(report, clock), clock, colours);
}

}  // namespace

Result<std::string> strip_plot(const works::ListeningReport& report, const PlotOptions& options) {
  return plotted(options, [&](Canvas& canvas) { draw(canvas, report, options); });
}

Result<std::vector<PlacedText>> strip_plot_texts(const works::ListeningReport& report,
                                                 const PlotOptions& options) {
  return plotted_texts(options, [&](Canvas& canvas) { draw(canvas, report, options); });
}

}  // namespace goodside::draw
