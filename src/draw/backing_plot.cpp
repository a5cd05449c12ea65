#include "draw/backing_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "draw/marks.hpp"

namespace goodside::draw {
namespace {

constexpr double um = 1e6, mm = 1e3, celsius_K = 273.15;
constexpr double pi = std::numbers::pi;

void head(Canvas& canvas,
          const Palette& colours,
          Standing standing,
          const std::string& title,
          const std::string& below) {
  draw_standing(canvas, standing, {44.0, 35.0}, 11.0, colours);
  canvas.text(
      title,
      {66.0, 18.0},
      {.size = 26.0, .colour = colours.ink, .bold = true, .ellipsis_width = plot_width - 100.0});
  canvas.text(below,
              {30.0, 56.0},
              {.size = 16.0, .colour = colours.ink, .ellipsis_width = plot_width - 60.0});
}

class Backing {
 public:
  Backing(Canvas& canvas, const works::BackingReport& report, const PlotOptions& options)
      : canvas_{canvas}, report_{report}, colours_{options.dark ? dark_palette : light_palette} {}

  void draw() {
    std::string stack;
    for (const auto& layer : report_.layers)
      stack += fmt::format(
          "{}{} {:g} mm", stack.empty() ? "" : ", ", layer.name, layer.thickness_m * mm);
    const auto& cold = report_.bows.front();
    const bool good = report_.flat && report_.solder_fit;
    head(canvas_,
         colours_,
         good ? Standing::good : Standing::out,
         fmt::format("Bow {:.2f} mm cold, {:.2g} allowed; {} {} the press",
                     std::abs(cold.sag_m) * mm,
                     report_.flat_limit_m * mm,
                     report_.solder,
                     report_.solder_fit ? "stands" : "fails in"),
         stack + fmt::format("; {:.0f} mm across", 2.0 * report_.radius_m * mm));
    side();
    solders();
  }

 private:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }

  void side() {
    const Box box{30.0, 130.0, 560.0, 360.0};
    double most = 1e-6;
    for (const auto& bow : report_.bows) most = std::max(most, std::abs(bow.sag_m));
    const double times = 0.22 * box.width * 2.0 * report_.radius_m / box.width / most * 0.35;
    const double scale = box.width / (2.0 * report_.radius_m);
    double y = box.y + 40.0;
    for (const auto& bow : report_.bows) {
      const double rise = bow.sag_m * scale * times;  // positive: the back, below, bulges
      const double top = y + std::max(-rise, 0.0);
      canvas_.ink(colours_.quiet_ink);
      const double dash[] = {4.0, 4.0};
      cairo_set_dash(pen(), dash, 2, 0.0);
      cairo_set_line_width(pen(), 1.0);
      cairo_new_path(pen());
      cairo_move_to(pen(), box.x, top);
      cairo_line_to(pen(), box.x + box.width, top);
      cairo_stroke(pen());
      cairo_set_dash(pen(), nullptr, 0, 0.0);
      for (const double below : {0.0, 9.0}) {
        canvas_.ink(below > 0.0 ? colours_.ink : colours_.copper);
        cairo_set_line_width(pen(), below > 0.0 ? 9.0 : 5.0);
        cairo_new_path(pen());
        for (int k = -40; k <= 40; ++k) {
          const double x = k / 40.0;
          cairo_line_to(
              pen(), box.x + 0.5 * box.width * (1.0 + x), top + below * 0.8 + rise * (1.0 - x * x));
        }
        cairo_stroke(pen());
      }
      canvas_.text(fmt::format("{}, {:.0f} °C: {:.2f} mm, {}",
                               bow.when,
                               bow.temperature_K - celsius_K,
                               std::abs(bow.sag_m) * mm,
                               bow.sag_m > 0.0 ? "the face hollow" : "the face domed"),
                   {box.x, y - 38.0},
                   {.size = 16.0, .colour = colours_.ink, .bold = true});
      y += 190.0;
    }
    canvas_.text(fmt::format("bow drawn {:.0f} times too large; copper: groove face; flatness "
                             "asked for {:.2g} mm ({})",
                             times,
                             report_.flat_limit_m * mm,
                             report_.flat_limit_from),
                 {box.x, 590.0},
                 {.size = 14.0, .colour = colours_.quiet_ink, .wrap_width = box.width});
  }

  void solders() {
    const double left = 790.0, right = plot_width - 40.0;
    const double low = 100.0 + celsius_K, high = 320.0 + celsius_K;
    const auto x = [&](double kelvin) {
      return left + (right - left) * (kelvin - low) / (high - low);
    };
    canvas_.text("solders: solidus to liquidus, °C",
                 {630.0, 96.0},
                 {.size = 16.0, .colour = colours_.ink, .bold = true});
    double y = 136.0;
    const double bottom = y + 40.0 * static_cast<double>(report_.solders.size());
    const double need = report_.hottest_K + report_.least_margin_K;
    canvas_.ink(colours_.out, 0.15);
    cairo_new_path(pen());
    cairo_rectangle(pen(), left, y - 10.0, x(need) - left, bottom - y + 6.0);
    cairo_fill(pen());
    canvas_.ink(colours_.out);
    cairo_set_line_width(pen(), 2.0);
    cairo_new_path(pen());
    cairo_move_to(pen(), x(report_.hottest_K), y - 10.0);
    cairo_line_to(pen(), x(report_.hottest_K), bottom);
    cairo_stroke(pen());
    for (const auto& one : report_.solders) {
      const bool chosen = one.solder.name == report_.solder;
      canvas_.text(one.solder.name,
                   {left - 14.0, y - 2.0},
                   {.size = 14.0, .colour = colours_.ink, .bold = chosen},
                   Align::right);
      canvas_.ink(one.fit ? colours_.good : colours_.out);
      cairo_new_path(pen());
      cairo_rectangle(pen(),
                      x(one.solder.solidus_K) - 3.0,
                      y,
                      std::max(x(one.solder.liquidus_K) - x(one.solder.solidus_K), 0.0) + 6.0,
                      14.0);
      cairo_fill(pen());
      const double text_x =
          std::max(x(one.solder.liquidus_K), one.margin_K > 0.0 ? x(need) : 0.0) + 10.0;
      canvas_.text(
          fmt::format("{:.0f}{} {}",
                      one.solder.solidus_K - celsius_K,
                      one.solder.liquidus_K > one.solder.solidus_K + 0.5
                          ? fmt::format("-{:.0f}", one.solder.liquidus_K - celsius_K)
                          : std::string{},
                      one.fit               ? "fit"
                      : one.margin_K <= 0.0 ? "melts"
                                            : "too near"),
          {text_x, y - 2.0},
          {.size = 14.0, .colour = one.fit ? colours_.good : colours_.out, .bold = chosen});
      y += 40.0;
    }
    canvas_.text(fmt::format("line: the press's hottest, {:.0f} °C; shaded: less than {:.0f} K "
                             "above it; bold: the one chosen",
                             report_.hottest_K - celsius_K,
                             report_.least_margin_K),
                 {630.0, bottom + 8.0},
                 {.size = 14.0, .colour = colours_.quiet_ink, .wrap_width = plot_width - 660.0});
  }

  Canvas& canvas_;
  const works::BackingReport& report_;
  const Palette& colours_;
};

void draw_thickness(Canvas& canvas, const works::ThicknessMap& map, const PlotOptions& options) {
  const Palette& colours = options.dark ? dark_palette : light_palette;
  cairo_t* pen = canvas.pen();
  head(canvas,
       colours,
       map.within ? Standing::good : Standing::out,
       fmt::format("{:.0f} to {:.0f} µm thick: wedge {:.1f}, dome {:.1f} µm",
                   map.least_m * um,
                   map.most_m * um,
                   map.wedge_m * um,
                   map.dome_m * um),
       fmt::format("thick towards {:.0f}°; range asked for {:.0f} µm ({})",
                   map.thick_towards_deg,
                   map.range_limit_m * um,
                   map.range_limit_from));
  const Point middle{320.0, 350.0};
  const double scale = 235.0 / map.radius_m;
  canvas.ink(colours.raised);
  cairo_new_path(pen);
  cairo_arc(pen, middle.x, middle.y, 235.0, 0.0, 2.0 * pi);
  cairo_fill_preserve(pen);
  canvas.ink(colours.ink);
  cairo_set_line_width(pen, 1.6);
  cairo_stroke(pen);
  double most = 1e-9;
  for (std::size_t i = 0; i < map.readings.size(); ++i)
    if (map.kept[i]) most = std::max(most, std::abs(map.readings[i].thickness_m - map.mean_m));
  for (std::size_t i = 0; i < map.readings.size(); ++i) {
    const auto& one = map.readings[i];
    const Point at{middle.x + one.x_m * scale, middle.y - one.y_m * scale};
    const double off = one.thickness_m - map.mean_m;
    canvas.ink(!map.kept[i] ? colours.quiet_ink : off > 0.0 ? colours.out : colours.good);
    cairo_new_path(pen);
    cairo_arc(
        pen, at.x, at.y, map.kept[i] ? 3.0 + 11.0 * std::abs(off) / most : 4.0, 0.0, 2.0 * pi);
    if (map.kept[i])
      cairo_fill(pen);
    else
      cairo_stroke(pen);
  }
  canvas.ink(colours.ink);
  cairo_set_line_width(pen, 2.6);
  const double towards = map.thick_towards_deg * pi / 180.0;
  draw_arrow(canvas,
             {middle.x - 130.0 * std::cos(towards), middle.y + 130.0 * std::sin(towards)},
             {middle.x + 130.0 * std::cos(towards), middle.y - 130.0 * std::sin(towards)},
             14.0);
  canvas.text(fmt::format("Orange: thicker than the mean of {:.1f} µm; blue: thinner; the largest "
                          "mark is {:.1f} µm off. The "
                          "arrow points to the thick side.",
                          map.mean_m * um,
                          most * um),
              {640.0, 140.0},
              {.size = 17.0, .colour = colours.ink, .wrap_width = 500.0});
  canvas.text(fmt::format("In the press: the disc comes out thinner where the stamper is thicker; "
                          "its centre of gravity lies "
                          "{:.2f} mm from the hole ({:.0f} mm allowed), and the thickest place "
                          "asks for {:.1f} % more pressure.",
                          map.centre_of_gravity_m * mm,
                          map.gravity_limit_m * mm,
                          (map.slower_fill - 1.0) * 100.0),
              {640.0, 240.0},
              {.size = 17.0, .colour = colours.ink, .wrap_width = 500.0});
}

}  // namespace

Result<std::string> backing_plot(const works::BackingReport& report, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Backing{canvas, report, options}.draw();
  return canvas.finish();
}

Result<std::vector<PlacedText>> backing_plot_texts(const works::BackingReport& report,
                                                   const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Backing{canvas, report, options}.draw();
  return canvas.texts();
}

Result<std::string> thickness_plot(const works::BareBackReport& report,
                                   const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  if (!report.map) return Error{Fault::bad_input, "a picture needs a thickness map; give --map"};
  Canvas canvas = plot_page(options);
  draw_thickness(canvas, *report.map, options);
  return canvas.finish();
}

}  // namespace goodside::draw
