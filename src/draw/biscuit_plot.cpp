#include "draw/biscuit_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace goodside::draw {
namespace {

using works::BiscuitReport;
using works::BiscuitScatter;

constexpr int curve_points = 400;

double density_per_kg(const BiscuitScatter& at, double mass_kg) {
  const double z = (mass_kg - at.mean_kg) / at.sigma_kg;
  return std::exp(-0.5 * z * z) / (at.sigma_kg * std::sqrt(2.0 * std::numbers::pi));
}

struct Range {
  double low_kg{}, high_kg{};
};

Range range_of(const BiscuitReport& report) {
  Range range{report.short_below_kg, report.thick_above_kg};
  const auto take = [&](double low, double high) {
    range.low_kg = std::min(range.low_kg, low);
    range.high_kg = std::max(range.high_kg, high);
  };
  take(report.disc_kg, report.disc_kg);
  for (const auto* at : {&*report.now, &*report.aimed})
    take(at->mean_kg - 4.0 * at->sigma_kg, at->mean_kg + 4.0 * at->sigma_kg);
  for (const double mass_kg : report.request.weighed_kg) take(mass_kg, mass_kg);
  // Room on the left for what the first line is called.
  const double span = range.high_kg - range.low_kg;
  return {range.low_kg - 0.12 * span, range.high_kg + 0.04 * span};
}

/// Columns by the rule of Freedman and Diaconis's cube root, at most 60 (from memory).
struct Columns {
  double from_kg{}, width_kg{};
  std::vector<int> counts;

  explicit Columns(const std::vector<double>& weighed_kg) {
    if (weighed_kg.empty()) return;
    auto sorted = weighed_kg;
    std::ranges::sort(sorted);
    const double quartiles = sorted[sorted.size() * 3 / 4] - sorted[sorted.size() / 4];
    const double span = sorted.back() - sorted.front();
    width_kg = std::max(
        {2.0 * quartiles / std::cbrt(static_cast<double>(sorted.size())), span / 60.0, 1e-5});
    from_kg = sorted.front() - 0.5 * width_kg;
    counts.resize(static_cast<std::size_t>(std::floor((sorted.back() - from_kg) / width_kg)) + 1);
    for (const double mass_kg : sorted)
      ++counts[static_cast<std::size_t>((mass_kg - from_kg) / width_kg)];
  }
  /// Per kilogram, as the law's density.
  [[nodiscard]] double height(std::size_t i, std::size_t all) const {
    return counts[i] / (width_kg * static_cast<double>(all));
  }
};

class Drawing {
 public:
  Drawing(Canvas& canvas, const BiscuitReport& report, const PlotOptions& options)
      : canvas_{canvas},
        report_{report},
        colours_{options.dark ? dark_palette : light_palette},
        range_{range_of(report)},
        columns_{report.request.weighed_kg},
        frame_{canvas,
               colours_,
               {70.0, 168.0, plot_width - 110.0, plot_height - 168.0 - 62.0},
               round_axis(1e3 * range_.low_kg, 1e3 * range_.high_kg, "mass of a biscuit, g"),
               {0.0, 1.12 * highest(), {}, "", false}} {
    head(options);
  }

  void draw() {
    frame_.draw();
    frame_.clip();
    columns();
    const bool is_one = std::abs(report_.now->mean_kg - report_.aimed->mean_kg) < 1e-7;
    if (!is_one) law(*report_.now, colours_.quiet_ink, 1.8);
    law(*report_.aimed, colours_.copper, 2.8);
    frame_.unclip();
    limits();
    key(is_one);
  }

 private:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }
  [[nodiscard]] double highest() const {
    double most = std::max(density_per_kg(*report_.now, report_.now->mean_kg),
                           density_per_kg(*report_.aimed, report_.aimed->mean_kg));
    for (std::size_t i = 0; i < columns_.counts.size(); ++i)
      most = std::max(most, columns_.height(i, report_.request.weighed_kg.size()));
    return most;
  }
  [[nodiscard]] Point at(double mass_kg, double height) const {
    return frame_.at(1e3 * mass_kg, height);
  }

  void head(const PlotOptions& options) {
    canvas_.text(fmt::format("Aim at {:.1f} g a biscuit", 1e3 * *report_.aim_kg),
                 {30.0, 18.0},
                 {.size = 26.0, .colour = colours_.ink, .bold = true});
    std::string whose = options.title;
    const auto join = [&](const std::string& part) {
      whose += (whose.empty() || part.empty() ? "" : " · ") + part;
    };
    join(options.date);
    join(fmt::format("disc {:.1f} g, sigma {:.2f} g{}",
                     1e3 * report_.disc_kg,
                     1e3 * report_.now->sigma_kg,
                     report_.now->count > 0
                         ? fmt::format(" of {} biscuits weighed", report_.now->count)
                         : ", not yet weighed"));
    canvas_.text(whose,
                 {30.0, 56.0},
                 {.size = 15.0, .colour = colours_.quiet_ink, .ellipsis_width = plot_width - 60.0});
  }

  void columns() {
    for (std::size_t i = 0; i < columns_.counts.size(); ++i) {
      const double from = columns_.from_kg + columns_.width_kg * static_cast<double>(i);
      const Point top = at(from, columns_.height(i, report_.request.weighed_kg.size())),
                  foot = at(from + columns_.width_kg, 0.0);
      canvas_.ink(colours_.good, 0.45);
      cairo_new_path(pen());
      cairo_rectangle(
          pen(), top.x + 0.5, top.y, std::max(1.0, foot.x - top.x - 1.0), foot.y - top.y);
      cairo_fill(pen());
    }
  }

  void law(const BiscuitScatter& one, Colour colour, double width) {
    if (one.sigma_kg <= 0.0) return;
    // What falls beyond the limits is filled.
    for (const auto& [from, to] : {Range{range_.low_kg, report_.short_below_kg},
                                   Range{report_.thick_above_kg, range_.high_kg}}) {
      cairo_new_path(pen());
      const Point begin = at(from, 0.0), end = at(to, 0.0);
      cairo_move_to(pen(), begin.x, begin.y);
      trace(one, from, to, true);
      cairo_line_to(pen(), end.x, end.y);
      cairo_close_path(pen());
      canvas_.ink(colours_.out, 0.8);
      cairo_fill(pen());
    }
    cairo_new_path(pen());
    trace(one, range_.low_kg, range_.high_kg, false);
    canvas_.ink(colour);
    cairo_set_line_width(pen(), width);
    cairo_stroke(pen());
  }
  void trace(const BiscuitScatter& one, double from, double to, bool goes_on) {
    for (int k = 0; k <= curve_points; ++k) {
      const double mass_kg = std::lerp(from, to, static_cast<double>(k) / curve_points);
      const Point place = at(mass_kg, density_per_kg(one, mass_kg));
      k == 0 && !goes_on ? cairo_move_to(pen(), place.x, place.y)
                         : cairo_line_to(pen(), place.x, place.y);
    }
  }

  void limits() {
    const double top = 1.12 * highest();
    frame_.limit_line({{1e3 * report_.disc_kg, 0.0}, {1e3 * report_.disc_kg, 0.84 * top}},
                      "the disc alone",
                      false);
    frame_.limit_line(
        {{1e3 * report_.short_below_kg, 0.0}, {1e3 * report_.short_below_kg, 0.93 * top}},
        "short fill below",
        false);
    frame_.limit_line(
        {{1e3 * report_.thick_above_kg, 0.0}, {1e3 * report_.thick_above_kg, 0.93 * top}},
        "too thick above",
        false);
  }

  static std::string chance(double share) {
    return share < 1e-6 ? std::string{"under 1 in a million"}
                        : fmt::format("{:.{}f} %", 1e2 * share, share < 0.1 ? 2 : 0);
  }
  void entry(double y, Colour colour, double width, const std::string& words) {
    canvas_.ink(colour);
    cairo_set_line_width(pen(), width);
    cairo_new_path(pen());
    cairo_move_to(pen(), 70.0, y + 10.0);
    cairo_line_to(pen(), 98.0, y + 10.0);
    cairo_stroke(pen());
    canvas_.text(words, {108.0, y}, {.size = 15.0, .colour = colours_.ink});
  }
  void key(bool is_one) {
    const auto words = [&](std::string_view name, const BiscuitScatter& one) {
      return fmt::format("{} {:.1f} g: short fill {}, too thick {}, flash {:.1f} g a disc",
                         name,
                         1e3 * one.mean_kg,
                         chance(one.short_chance),
                         chance(one.thick_chance),
                         1e3 * one.flash_kg);
    };
    entry(90.0, colours_.copper, 2.8, words("aimed at", *report_.aimed));
    if (!is_one)
      entry(116.0,
            colours_.quiet_ink,
            1.8,
            words(report_.now->count > 0 ? "as weighed" : "as planned", *report_.now));
  }

  Canvas& canvas_;
  const BiscuitReport& report_;
  const Palette& colours_;
  Range range_;
  Columns columns_;
  PlotFrame frame_;
};

Outcome check(const BiscuitReport& report, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked;
  if (!report.now || !report.aimed || report.now->sigma_kg <= 0.0)
    return Error{
        Fault::bad_input,
        "no scatter is known, so there is nothing to draw; weigh biscuits, or give --sigma"};
  return Done{};
}

}  // namespace

Result<std::string> biscuit_plot(const BiscuitReport& report, const PlotOptions& options) {
  if (const auto checked = check(report, options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Drawing{canvas, report, options}.draw();
  return canvas.finish();
}

Result<std::vector<PlacedText>> biscuit_plot_texts(const BiscuitReport& report,
                                                   const PlotOptions& options) {
  if (const auto checked = check(report, options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Drawing{canvas, report, options}.draw();
  return canvas.texts();
}

}  // namespace goodside::draw
