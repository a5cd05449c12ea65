#include "draw/mix_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace goodside::draw {
namespace {

using works::Correction;
using works::MixReport;

constexpr double a4_width_pt = 841.89;
constexpr double name_right = 250.0, bars_right = 940.0, head_height = 150.0, foot_height = 66.0,
                 row_height = 26.0;

double page_height(std::size_t rows) {
  return std::max(360.0, head_height + foot_height + row_height * static_cast<double>(rows));
}

Canvas page(const PlotOptions& options, std::size_t rows) {
  const double scale = options.format == PictureFormat::png ? options.width_px / plot_width
                                                            : a4_width_pt / plot_width;
  return Canvas{options.format,
                plot_width,
                page_height(rows),
                scale,
                (options.dark ? dark_palette : light_palette).ground};
}

/// A row of bars with the ingredient's name before it and figures after it.
class Bars {
 public:
  Bars(Canvas& canvas, const MixReport& report, const PlotOptions& options)
      : canvas_{canvas},
        report_{report},
        options_{options},
        colours_{options.dark ? dark_palette : light_palette} {}

  void draw() { report_.deviations.empty() ? contents() : deviations(); }

 private:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }
  void text(
      const std::string& words, double x, double y, Align align, Colour colour, double wide = 0.0) {
    canvas_.text(words, {x, y}, {.size = 15.0, .colour = colour, .ellipsis_width = wide}, align);
  }
  void bar(double from, double to, double y, double height, Colour colour) {
    canvas_.ink(colour);
    cairo_new_path(pen());
    cairo_rectangle(pen(), std::min(from, to), y, std::abs(to - from), height);
    cairo_fill(pen());
  }
  void upright(double x, double bottom, bool dashed, Colour colour) {
    canvas_.ink(colour);
    const double dash[] = {5.0, 4.0};
    cairo_set_dash(pen(), dash, dashed ? 2 : 0, 0.0);
    cairo_set_line_width(pen(), dashed ? 1.6 : 1.0);
    cairo_new_path(pen());
    cairo_move_to(pen(), x, head_height - 4.0);
    cairo_line_to(pen(), x, bottom);
    cairo_stroke(pen());
    cairo_set_dash(pen(), nullptr, 0, 0.0);
  }
  void ring(double x, double y, Colour colour) {
    canvas_.ink(colours_.ground);
    cairo_new_path(pen());
    cairo_arc(pen(), x, y, 6.5, 0.0, 2.0 * std::numbers::pi);
    cairo_fill_preserve(pen());
    canvas_.ink(colour);
    cairo_set_line_width(pen(), 2.2);
    cairo_stroke(pen());
  }
  void triangle(double x, double y, Colour colour) {
    canvas_.ink(colour);
    cairo_new_path(pen());
    cairo_move_to(pen(), x, y - 7.0);
    cairo_line_to(pen(), x + 7.5, y + 6.0);
    cairo_line_to(pen(), x - 7.5, y + 6.0);
    cairo_close_path(pen());
    cairo_fill(pen());
  }

  void head(const std::string& title, const std::string& below) {
    canvas_.text(title, {30.0, 18.0}, {.size = 26.0, .colour = colours_.ink, .bold = true});
    std::string whose = options_.title.empty() ? report_.recipe.name : options_.title;
    for (const auto& part : {options_.date, below})
      if (!part.empty()) whose += " · " + part;
    canvas_.text(whose,
                 {30.0, 56.0},
                 {.size = 15.0, .colour = colours_.quiet_ink, .ellipsis_width = plot_width - 60.0});
  }

  /// In tolerances, signed; nothing where it was not weighed or there is no correction.
  [[nodiscard]] std::optional<double> corrected(const std::string& name) const {
    if (!report_.correction || report_.correction->kind == Correction::Kind::none_needed)
      return std::nullopt;
    for (std::size_t i = 0; i < report_.correction->lines.size(); ++i) {
      const auto& line = report_.correction->lines[i];
      if (line.ingredient == name)
        return std::copysign(line.share_of_tolerance,
                             line.final_fraction - report_.recipe.ingredients[i].fraction);
    }
    return std::nullopt;
  }
  [[nodiscard]] double addition_kg(const std::string& name) const {
    if (!report_.correction) return 0.0;
    const auto& lines = report_.correction->lines;
    const auto found = std::ranges::find(lines, name, &Correction::Line::ingredient);
    return found == lines.end() ? 0.0 : found->add_weighed_kg;
  }

  [[nodiscard]] std::string deviation_title() const {
    const auto out = std::ranges::count_if(report_.deviations, &works::Deviation::is_out);
    if (!report_.correction || report_.correction->kind == Correction::Kind::none_needed)
      return "The mix is within tolerance";
    if (report_.correction->kind == Correction::Kind::restores)
      return fmt::format("{} out of tolerance: add {:.4g} kg", out, report_.correction->add_kg);
    return fmt::format("{} out of tolerance, and cannot be put right", out);
  }

  void deviations() {
    head(deviation_title(), fmt::format("batch of {:.6g} kg", report_.weigh_up.batch_kg));
    double most = 1.5;
    for (const auto& one : report_.deviations)
      if (one.weighed_kg) most = std::max(most, one.share_of_tolerance);
    const Axis axis = round_axis(-1.08 * most, 1.08 * most, "");
    const auto x_of = [&](double share) {
      return name_right + (bars_right - name_right) * axis.share(share);
    };
    const double bottom =
        head_height + row_height * static_cast<double>(report_.deviations.size()) + 4.0;
    bar(name_right, bars_right, head_height - 4.0, bottom - head_height + 4.0, colours_.raised);
    for (const auto& tick : axis.ticks) {
      upright(x_of(tick.value), bottom, false, colours_.line);
      text(tick.text, x_of(tick.value), bottom + 6.0, Align::centre, colours_.ink);
    }
    text("off, in tolerances",
         (name_right + bars_right) / 2.0,
         bottom + 28.0,
         Align::centre,
         colours_.quiet_ink);
    text("off g", 1030.0, head_height - 28.0, Align::right, colours_.quiet_ink);
    text("add kg", 1150.0, head_height - 28.0, Align::right, colours_.quiet_ink);
    double y = head_height;
    for (const auto& one : report_.deviations) {
      row(one, y, x_of);
      y += row_height;
    }
    for (const double side : {-1.0, 1.0}) upright(x_of(side), bottom, true, colours_.copper);
    upright(x_of(0.0), bottom, false, colours_.ink);
    key();
  }

  void row(const works::Deviation& one, double y, const auto& x_of) {
    const double middle = y + row_height / 2.0;
    text(one.ingredient, name_right - 12.0, y + 3.0, Align::right, colours_.ink, name_right - 40.0);
    if (!one.weighed_kg) {
      text("not weighed yet", x_of(0.0) + 8.0, y + 3.0, Align::left, colours_.quiet_ink);
    } else {
      const double end = x_of(std::copysign(one.share_of_tolerance, one.off_kg));
      const Colour colour = one.is_out ? colours_.out : colours_.good;
      bar(x_of(0.0), end, middle - 5.0, 10.0, colour);
      if (one.is_out) triangle(end, middle, colour);
      text(fmt::format("{:+.4g}", 1e3 * one.off_kg + 0.0),
           1030.0,
           y + 3.0,
           Align::right,
           colours_.ink);
    }
    if (const auto after = corrected(one.ingredient)) ring(x_of(*after), middle, colours_.ink);
    if (const double kg = addition_kg(one.ingredient); kg > 0.0)
      text(fmt::format("{:.3f}", kg), 1150.0, y + 3.0, Align::right, colours_.ink);
  }

  void key() {
    double x = name_right;
    const double y = 96.0, middle = y + 9.0;
    const auto entry = [&](const std::string& words) {
      const Box box = canvas_.text(words, {x + 36.0, y}, {.size = 14.0, .colour = colours_.ink});
      x = box.x + box.width + 28.0;
    };
    bar(x, x + 26.0, middle - 5.0, 10.0, colours_.good);
    entry("within tolerance");
    bar(x, x + 20.0, middle - 5.0, 10.0, colours_.out);
    triangle(x + 22.0, middle, colours_.out);
    entry("out");
    if (report_.correction && report_.correction->kind != Correction::Kind::none_needed) {
      ring(x + 14.0, middle, colours_.ink);
      entry(report_.correction->kind == Correction::Kind::restores ? "after the addition"
                                                                   : "in the nearest mix");
    }
  }

  void contents() {
    const auto& lines = report_.weigh_up.lines;
    head(fmt::format("Weigh up {:.6g} kg", report_.weigh_up.batch_kg),
         fmt::format("{:.3f} g/cm³ without voids, {:.4g} l",
                     report_.mixture.density_kg_per_m3 / 1e3,
                     1e3 * report_.weigh_up.volume_m3));
    double most = 0.0;
    for (const auto& line : lines) most = std::max({most, line.fraction, line.volume_fraction});
    const Axis axis = round_axis(0.0, 106.0 * most, "");
    const auto x_of = [&](double share) {
      return name_right + (bars_right - name_right) * axis.share(1e2 * share);
    };
    const double bottom = head_height + row_height * static_cast<double>(lines.size()) + 4.0;
    bar(name_right, bars_right, head_height - 4.0, bottom - head_height + 4.0, colours_.raised);
    for (const auto& tick : axis.ticks) {
      upright(x_of(tick.value / 1e2), bottom, false, colours_.line);
      text(tick.text, x_of(tick.value / 1e2), bottom + 6.0, Align::centre, colours_.ink);
    }
    text("share of the mix, %",
         (name_right + bars_right) / 2.0,
         bottom + 28.0,
         Align::centre,
         colours_.quiet_ink);
    text("weigh kg", 1150.0, head_height - 28.0, Align::right, colours_.quiet_ink);
    double y = head_height;
    for (const auto& line : lines) {
      text(line.ingredient,
           name_right - 12.0,
           y + 3.0,
           Align::right,
           colours_.ink,
           name_right - 40.0);
      bar(name_right, x_of(line.fraction), y + 3.0, 9.0, colours_.copper);
      bar(name_right, x_of(line.volume_fraction), y + 14.0, 6.0, colours_.quiet_ink);
      text(fmt::format("{:.3f}", line.weigh_kg), 1150.0, y + 3.0, Align::right, colours_.ink);
      y += row_height;
    }
    double x = name_right;
    for (const auto& [words, colour, height] : {std::tuple{"by mass", colours_.copper, 9.0},
                                                std::tuple{"by volume", colours_.quiet_ink, 6.0}}) {
      bar(x, x + 26.0, 105.0 - height / 2.0, height, colour);
      const Box box = canvas_.text(words, {x + 36.0, 96.0}, {.size = 14.0, .colour = colours_.ink});
      x = box.x + box.width + 28.0;
    }
  }

  Canvas& canvas_;
  const MixReport& report_;
  const PlotOptions& options_;
  const Palette& colours_;
};

std::size_t rows_of(const MixReport& report) {
  return report.deviations.empty() ? report.weigh_up.lines.size() : report.deviations.size();
}

}  // namespace

Result<std::string> mix_plot(const MixReport& report, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = page(options, rows_of(report));
  Bars{canvas, report, options}.draw();
  return canvas.finish();
}

Result<std::vector<PlacedText>> mix_plot_texts(const MixReport& report,
                                               const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = page(options, rows_of(report));
  Bars{canvas, report, options}.draw();
  return canvas.texts();
}

}  // namespace goodside::draw
