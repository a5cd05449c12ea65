#include "draw/centring_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "draw/marks.hpp"

namespace goodside::draw {
namespace {

using works::CentringReport;
using works::CentringStanding;

constexpr double um = 1e6;
constexpr double pi = std::numbers::pi;
constexpr Box target_box{30.0, 112.0, 470.0, 470.0};

Standing standing(const CentringReport& report) {
  if (report.standing == CentringStanding::within) return Standing::good;
  return report.standing == CentringStanding::outside ? Standing::out : Standing::unjudged;
}

std::string title(const CentringReport& report) {
  const std::string off = fmt::format("{:.0f} µm off centre", report.length_m * um);
  if (report.standing == CentringStanding::within) return off + ", within the limit";
  if (report.standing == CentringStanding::outside) return off + ", outside the limit";
  return off + ", not decided";
}

class Drawing {
 public:
  Drawing(Canvas& canvas, const CentringReport& report, const PlotOptions& options)
      : canvas_{canvas},
        report_{report},
        options_{options},
        colours_{options.dark ? dark_palette : light_palette},
        reach_m_{reach(report)} {}

  void draw() {
    head();
    target();
    if (report_.offset.readings.empty())
      words();
    else
      readings();
  }

 private:
  /// Half the width of the enlarged field: all that is to be seen, rounded up.
  static double reach(const CentringReport& report) {
    double most = std::max(report.limit_m, report.length_m);
    if (report.offset.region) most = std::max(most, report.offset.region->farthest_m);
    if (report.heard) most = std::max(most, report.heard->high_m);
    return std::max(most, 1e-6) * 1.25;
  }
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }
  [[nodiscard]] Point place(double x_m, double y_m) const {
    const double scale = 0.5 * target_box.width / reach_m_;
    return {target_box.x + 0.5 * target_box.width + x_m * scale,
            target_box.y + 0.5 * target_box.height - y_m * scale};
  }
  [[nodiscard]] double length(double m) const { return m * 0.5 * target_box.width / reach_m_; }

  void head() {
    draw_standing(canvas_, standing(report_), {44.0, 35.0}, 11.0, colours_);
    canvas_.text(
        title(report_), {66.0, 18.0}, {.size = 26.0, .colour = colours_.ink, .bold = true});
    std::string whose = options_.title;
    for (const std::string& part :
         {options_.date,
          fmt::format("move the plate {:.0f} µm towards {:.0f}° (x {:+.0f}, y {:+.0f} µm)",
                      report_.move_m * um,
                      report_.move_towards_deg,
                      report_.move_x_m * um,
                      report_.move_y_m * um)})
      if (!part.empty()) whose += (whose.empty() ? "" : " · ") + part;
    canvas_.text(whose,
                 {30.0, 56.0},
                 {.size = 16.0, .colour = colours_.ink, .ellipsis_width = plot_width - 60.0});
  }

  void circle(Point at, double radius) const {
    cairo_new_path(pen());
    cairo_arc(pen(), at.x, at.y, radius, 0.0, 2.0 * pi);
  }
  void axes() {
    canvas_.ink(colours_.line);
    cairo_set_line_width(pen(), 1.2);
    for (const bool upright : {false, true}) {
      cairo_new_path(pen());
      const Point a = upright ? place(0, -reach_m_) : place(-reach_m_, 0);
      const Point b = upright ? place(0, reach_m_) : place(reach_m_, 0);
      cairo_move_to(pen(), a.x, a.y);
      cairo_line_to(pen(), b.x, b.y);
      cairo_stroke(pen());
    }
    const TextStyle small{.size = 14.0, .colour = colours_.quiet_ink};
    canvas_.text("x", {place(reach_m_, 0).x - 4.0, place(0, 0).y + 2.0}, small, Align::right);
    canvas_.text("y", {place(0, 0).x + 6.0, target_box.y}, small);
  }
  void limit() {
    canvas_.ink(colours_.good, 0.10);
    circle(place(0, 0), length(report_.limit_m));
    cairo_fill_preserve(pen());
    canvas_.ink(colours_.good);
    const double dash[] = {7.0, 5.0};
    cairo_set_dash(pen(), dash, 2, 0.0);
    cairo_set_line_width(pen(), 1.6);
    cairo_stroke(pen());
    cairo_set_dash(pen(), nullptr, 0, 0.0);
    const Point top = place(0, report_.limit_m);
    canvas_.text(fmt::format("limit {:.0f} µm", report_.limit_m * um),
                 {top.x + 8.0, top.y - 20.0},
                 {.size = 14.0, .colour = colours_.good});
  }
  void region() {
    if (!report_.offset.region) return;
    const auto& one = *report_.offset.region;
    const Point at = place(report_.offset.x_m, report_.offset.y_m);
    cairo_save(pen());
    cairo_translate(pen(), at.x, at.y);
    cairo_rotate(pen(), -one.major_direction_deg * pi / 180.0);
    cairo_scale(
        pen(), std::max(length(one.half_major_m), 1.0), std::max(length(one.half_minor_m), 1.0));
    cairo_new_path(pen());
    cairo_arc(pen(), 0.0, 0.0, 1.0, 0.0, 2.0 * pi);
    cairo_restore(pen());
    canvas_.ink(colours_.copper, 0.25);
    cairo_fill_preserve(pen());
    canvas_.ink(colours_.copper);
    cairo_set_line_width(pen(), 1.6);
    cairo_stroke(pen());
  }
  /// Where the groove's centre lies by the discs' own sound: a ring, since they tell no direction.
  void heard() {
    if (!report_.heard) return;
    const auto& one = *report_.heard;
    const Point hole = place(0, 0);
    canvas_.ink(colours_.ink, 0.12);
    cairo_set_line_width(pen(), std::max(length(one.high_m - one.low_m), 2.0));
    circle(hole, length(0.5 * (one.low_m + one.high_m)));
    cairo_stroke(pen());
    canvas_.ink(one.agree ? colours_.ink : colours_.out);
    cairo_set_line_width(pen(), 1.6);
    circle(hole, length(one.heard_m));
    cairo_stroke(pen());
    canvas_.text(fmt::format("heard {:.0f} µm ({:.0f} to {:.0f}): {}",
                             one.heard_m * um,
                             one.low_m * um,
                             one.high_m * um,
                             one.agree ? "agrees" : "differs"),
                 {target_box.x + 8.0, target_box.y + target_box.height - 26.0},
                 {.size = 14.0, .colour = one.agree ? colours_.ink : colours_.out, .bold = true});
  }
  void target() {
    axes();
    limit();
    heard();
    region();
    const Point hole = place(0, 0), groove = place(report_.offset.x_m, report_.offset.y_m);
    canvas_.ink(colours_.ink);
    cairo_set_line_width(pen(), 2.6);
    if (std::hypot(groove.x - hole.x, groove.y - hole.y) > 16.0)
      draw_arrow(canvas_, groove, hole, 12.0);
    circle(hole, 5.0);
    cairo_stroke(pen());
    canvas_.ink(colours_.copper);
    circle(groove, 5.0);
    cairo_fill(pen());
    const bool right = groove.x < hole.x;
    canvas_.text("groove's centre",
                 {groove.x + (right ? -10.0 : 10.0), groove.y + 6.0},
                 {.size = 14.0, .colour = colours_.copper, .bold = true},
                 right ? Align::right : Align::left);
    canvas_.text("hole",
                 {hole.x + (right ? 9.0 : -9.0), hole.y + 6.0},
                 {.size = 14.0, .colour = colours_.ink, .bold = true},
                 right ? Align::left : Align::right);
    canvas_.text(
        fmt::format("the box is {:.0f} µm wide{}",
                    2.0 * reach_m_ * um,
                    report_.offset.region
                        ? fmt::format("; the shaded ellipse holds the centre with {:.0f} %",
                                      report_.offset.confidence * 100.0)
                        : std::string{"; nothing tells how sure the centre is"}),
        {target_box.x, target_box.y + target_box.height + 12.0},
        {.size = 14.0, .colour = colours_.quiet_ink});
    canvas_.ink(colours_.line);
    cairo_set_line_width(pen(), 1.0);
    cairo_new_path(pen());
    cairo_rectangle(pen(), target_box.x, target_box.y, target_box.width, target_box.height);
    cairo_stroke(pen());
  }

  [[nodiscard]] double fitted_um(double angle_rad) const {
    const auto& offset = report_.offset;
    double sum = offset.x_m * std::cos(angle_rad) + offset.y_m * std::sin(angle_rad);
    if (offset.out_of_round && offset.out_of_round->sigma_m)
      sum += offset.out_of_round->amplitude_m *
             std::cos(2.0 * (angle_rad - offset.out_of_round->direction_deg * pi / 180.0));
    return sum * um;
  }

  void readings() {
    const auto& offset = report_.offset;
    double most = 1.0;
    for (const auto& one : offset.readings)
      most = std::max(most, std::abs(one.position_m - offset.mean_position_m) * um);
    Axis angle{0.0, 360.0, {}, "angle in the works' axes, °", false};
    for (int k = 0; k <= 360; k += 45)
      angle.ticks.push_back({static_cast<double>(k), fmt::format("{}", k)});
    PlotFrame frame{canvas_,
                    colours_,
                    {610.0, 136.0, plot_width - 640.0, 420.0},
                    angle,
                    round_axis(-1.15 * most, 1.15 * most, "groove against its mean place, µm")};
    frame.draw();
    frame.clip();
    canvas_.ink(colours_.copper);
    cairo_set_line_width(pen(), 2.2);
    cairo_new_path(pen());
    for (int k = 0; k <= 360; k += 3) {
      const Point at = frame.at(k, fitted_um(k * pi / 180.0));
      cairo_line_to(pen(), at.x, at.y);
    }
    cairo_stroke(pen());
    cairo_set_line_width(pen(), 2.2);
    bool left_out = false;
    for (const auto& one : offset.readings) {
      const Point at = frame.at(one.angle_deg, (one.position_m - offset.mean_position_m) * um);
      canvas_.ink(one.kept ? colours_.ink : colours_.out);
      if (one.kept) {
        circle(at, 4.5);
        cairo_fill(pen());
        continue;
      }
      left_out = true;
      for (const double slope : {-1.0, 1.0}) {
        cairo_new_path(pen());
        cairo_move_to(pen(), at.x - 6.0, at.y - 6.0 * slope);
        cairo_line_to(pen(), at.x + 6.0, at.y + 6.0 * slope);
        cairo_stroke(pen());
      }
    }
    frame.unclip();
    canvas_.text(fmt::format("{} readings at {} angles{}{}",
                             offset.readings.size(),
                             offset.stations,
                             offset.scatter_m
                                 ? fmt::format(", each good to {:.1f} µm", *offset.scatter_m * um)
                                 : std::string{},
                             left_out ? "; crosses: left out" : ""),
                 {610.0, 92.0},
                 {.size = 14.0, .colour = colours_.ink, .ellipsis_width = plot_width - 640.0});
  }

  void words() {
    std::string text;
    if (report_.photograph) {
      text = fmt::format("From a photograph, {:.2f} px/mm.\n",
                         report_.photograph->scale_px_per_m * 1e-3);
      for (const auto& circle : report_.photograph->circles)
        text += fmt::format("{}: {:.2f} mm, edge found on {:.0f} % of the turn.\n",
                            circle.name,
                            circle.diameter_m * 1e3,
                            circle.share * 100.0);
    }
    for (const auto& wow : report_.wow)
      text += fmt::format(
          "Wow at the {} groove: {:.3f} % peak as it lies.\n", wow.groove, wow.peak * 100.0);
    canvas_.text(text,
                 {560.0, 136.0},
                 {.size = 17.0, .colour = colours_.ink, .wrap_width = plot_width - 600.0});
  }

  Canvas& canvas_;
  const CentringReport& report_;
  const PlotOptions& options_;
  const Palette& colours_;
  double reach_m_;
};

}  // namespace

Result<std::string> centring_plot(const CentringReport& report, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Drawing{canvas, report, options}.draw();
  return canvas.finish();
}

Result<std::vector<PlacedText>> centring_plot_texts(const CentringReport& report,
                                                    const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  Drawing{canvas, report, options}.draw();
  return canvas.texts();
}

}  // namespace goodside::draw
