#include "draw/levels_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace goodside::draw {
namespace {

// The bands that the verdict looks at; an exact centre may read 251.2 or 249.9.
constexpr double lowest_judged_Hz = 240.0, highest_judged_Hz = 9000.0;
const double half_band = std::pow(2.0, 1.0 / 6.0);

bool is_judged(const works::ThirdOctave& band) {
  return band.centre_Hz >= lowest_judged_Hz && band.centre_Hz <= highest_judged_Hz;
}

double level_dB(const works::ThirdOctave& band, bool left) {
  return left ? band.left_dB : band.right_dB;
}

std::string frequency(double nominal_Hz) {
  return nominal_Hz < 1000.0 ? fmt::format("{:g}", nominal_Hz)
                             : fmt::format("{:g} k", nominal_Hz / 1000.0);
}

/// Octave figures, third octaves between them.
Axis frequency_axis(const std::vector<works::ThirdOctave>& bands) {
  constexpr std::array<double, 10> octaves_Hz{
      31.5, 63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 16000.0};
  Axis axis{bands.front().centre_Hz / half_band / 1.03,
            bands.back().centre_Hz * half_band * 1.03,
            {},
            "centre of the third octave, Hz",
            true};
  for (const double octave_Hz : octaves_Hz)
    for (const int third : {-1, 0, 1}) {
      const double centre_Hz = octave_Hz * std::pow(2.0, third / 3.0);
      if (centre_Hz < axis.low || centre_Hz > axis.high) continue;
      axis.ticks.push_back({centre_Hz, third == 0 ? frequency(octave_Hz) : ""});
    }
  return axis;
}

/// Left is a filled circle on an unbroken line, right an open square on a dashed one: no colour is needed.
struct Channel {
  bool left{};
  double mean_dB{};
};

void draw_channel(Canvas& canvas,
                  PlotFrame& frame,
                  const std::vector<works::ThirdOctave>& bands,
                  const Channel& channel,
                  const Palette& colours) {
  cairo_t* pen = canvas.pen();
  const Colour ink = channel.left ? colours.ink : colours.copper;
  constexpr std::array<double, 2> dashes{4.0, 4.0};
  frame.clip();
  canvas.ink(ink);
  cairo_set_line_width(pen, 2.0);
  if (!channel.left) cairo_set_dash(pen, dashes.data(), 2, 0.0);
  cairo_new_path(pen);
  for (const auto& band : bands) {
    const Point at = frame.at(band.centre_Hz, level_dB(band, channel.left) - channel.mean_dB);
    cairo_line_to(pen, at.x, at.y);
  }
  cairo_stroke(pen);
  cairo_set_dash(pen, nullptr, 0, 0.0);
  frame.unclip();
  for (const auto& band : bands) {
    const Point at = frame.at(band.centre_Hz, level_dB(band, channel.left) - channel.mean_dB);
    cairo_new_path(pen);
    if (channel.left)
      cairo_arc(pen, at.x, at.y, 4.5, 0.0, 2.0 * std::numbers::pi);
    else
      cairo_rectangle(pen, at.x - 5.0, at.y - 5.0, 10.0, 10.0);
    canvas.ink(channel.left ? ink : colours.raised);
    cairo_fill_preserve(pen);
    canvas.ink(ink);
    cairo_stroke(pen);
  }
}

/// The two signs with their meaning, in a row.
void draw_key(Canvas& canvas,
              const Palette& colours,
              Point at,
              const std::vector<Channel>& channels) {
  cairo_t* pen = canvas.pen();
  for (const Channel& channel : channels) {
    const Point mark{at.x + 8.0, at.y + 9.0};
    cairo_new_path(pen);
    if (channel.left)
      cairo_arc(pen, mark.x, mark.y, 4.5, 0.0, 2.0 * std::numbers::pi);
    else
      cairo_rectangle(pen, mark.x - 5.0, mark.y - 5.0, 10.0, 10.0);
    canvas.ink(channel.left ? colours.ink : colours.raised);
    cairo_fill_preserve(pen);
    canvas.ink(channel.left ? colours.ink : colours.copper);
    cairo_set_line_width(pen, 2.0);
    cairo_stroke(pen);
    const Box box = canvas.text(fmt::format("{}, mean {:+.1f} dB against the cut",
                                            channel.left ? "left" : "right",
                                            channel.mean_dB),
                                {at.x + 22.0, at.y},
                                {.size = 14.0, .colour = colours.ink});
    at.x = box.x + box.width + 26.0;
  }
}

std::string figures(const works::Levels& levels) {
  std::string text;
  const auto add = [&](const std::string& part) { text += (text.empty() ? "" : " · ") + part; };
  if (levels.balance_dB)
    add(fmt::format("balance: right {:+.1f} dB against left", *levels.balance_dB));
  if (levels.separation_dB) add(fmt::format("separation {:.0f} dB", *levels.separation_dB));
  if (levels.high_loss_dB_per_m)
    add(fmt::format("treble loss towards the centre {:.2f} dB a centimetre",
                    *levels.high_loss_dB_per_m * 1e-2));
  return text;
}

void draw_limits(PlotFrame& frame, const works::Limits& limits) {
  if (!limits.level_deviation_dB) return;
  const double limit_dB = *limits.level_deviation_dB;
  const double from_Hz = 250.0 / half_band, to_Hz = 8000.0 * half_band;
  frame.limit_line({{from_Hz, limit_dB}, {to_Hz, limit_dB}},
                   fmt::format("limit {:g} dB, 250 Hz to 8 kHz", limit_dB),
                   true);
  frame.limit_line({{from_Hz, -limit_dB}, {to_Hz, -limit_dB}}, "", false);
}

void draw(Canvas& canvas, const works::ListeningReport& report, const PlotOptions& options) {
  const Palette& colours = options.dark ? dark_palette : light_palette;
  draw_plot_head(canvas, colours, "Levels: what the disc adds and loses", report, options);
  const auto& bands = report.levels.third_octave;
  if (bands.size() < 2) {
    canvas.text(why_unknown(report, "levels"),
                {30.0, 100.0},
                {.size = 17.0, .colour = colours.ink, .wrap_width = plot_width - 60.0});
    return;
  }
  canvas.text(figures(report.levels),
              {30.0, 78.0},
              {.size = 17.0, .colour = colours.ink, .ellipsis_width = plot_width - 60.0});
  const std::vector<Channel> channels{{true, mean_level_dB(bands, true).value_or(0.0)},
                                      {false, mean_level_dB(bands, false).value_or(0.0)}};
  double reach_dB = std::max(3.0, options.limits.level_deviation_dB.value_or(0.0) * 1.3);
  for (const Channel& channel : channels)
    for (const auto& band : bands)
      reach_dB =
          std::max(reach_dB, 1.08 * std::abs(level_dB(band, channel.left) - channel.mean_dB));
  reach_dB = std::min(reach_dB, 40.0);
  PlotFrame frame{
      canvas,
      colours,
      {90.0, 172.0, plot_width - 120.0, plot_height - 172.0 - 62.0},
      frequency_axis(bands),
      round_axis(-reach_dB, reach_dB, "against the cut, each channel's mean taken off, dB")};
  frame.draw();
  draw_limits(frame, options.limits);
  for (const Channel& channel : channels) draw_channel(canvas, frame, bands, channel, colours);
  draw_key(canvas, colours, {90.0, 116.0}, channels);
}

}  // namespace

std::optional<double> mean_level_dB(const std::vector<works::ThirdOctave>& bands, bool left) {
  double sum_dB = 0.0;
  int count = 0;
  for (const auto& band : bands)
    if (is_judged(band)) {
      sum_dB += level_dB(band, left);
      ++count;
    }
  if (count == 0) return {};
  return sum_dB / count;
}

Result<std::string> levels_plot(const works::ListeningReport& report, const PlotOptions& options) {
  return plotted(options, [&](Canvas& canvas) { draw(canvas, report, options); });
}

Result<std::vector<PlacedText>> levels_plot_texts(const works::ListeningReport& report,
                                                  const PlotOptions& options) {
  return plotted_texts(options, [&](Canvas& canvas) { draw(canvas, report, options); });
}

}  // namespace goodside::draw
