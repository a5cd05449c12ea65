#include "draw/plating_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "draw/noise_scale.hpp"

namespace goodside::draw {
namespace {

using works::CellResult;
using works::PlatingReport;

constexpr double um = 1e6, mm = 1e3, hour_s = 3600.0;

/// From nought, which is written "0" however fine the steps: two of them meet in the corner.
Axis from_nought(double most, const std::string& title) {
  Axis axis = round_axis(0.0, most, title);
  axis.ticks.front().text.assign(1, '0');
  return axis;
}

Axis micrometres(double most_m) {
  return from_nought(most_m * um * 1.12, "thickness, µm");
}

/// The unit in which a run's time reads best.
struct TimeUnit {
  double length_s;
  const char* name;
};
TimeUnit time_unit(double time_s) {
  if (time_s < 180.0) return {1.0, "s"};
  return time_s < 7200.0 ? TimeUnit{60.0, "min"} : TimeUnit{hour_s, "h"};
}

std::string of_metal(const PlatingReport& report) {
  std::string text =
      fmt::format("{} on {:.4g} mm", report.metal.name, 2.0 * report.disc_radius_m * mm);
  if (!report.part.empty()) text = report.part + " · " + text;
  return text;
}

class Sheet {
 public:
  Sheet(Canvas& canvas, const PlatingReport& report, const PlotOptions& options)
      : canvas_{canvas},
        report_{report},
        options_{options},
        colours_{options.dark ? dark_palette : light_palette} {}

 protected:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }

  void head(const std::string& title, const std::string& below) {
    canvas_.text(title, {30.0, 18.0}, {.size = 26.0, .colour = colours_.ink, .bold = true});
    std::string whose = options_.title.empty() ? "" : options_.title + " · ";
    whose += below;
    if (!options_.date.empty()) whose += " · " + options_.date;
    canvas_.text(whose,
                 {30.0, 54.0},
                 {.size = 15.0, .colour = colours_.quiet_ink, .ellipsis_width = plot_width - 60.0});
  }

  void line(Point from, Point to, double width) const {
    cairo_set_line_width(pen(), width);
    cairo_new_path(pen());
    cairo_move_to(pen(), from.x, from.y);
    cairo_line_to(pen(), to.x, to.y);
    cairo_stroke(pen());
  }

  /// A stroke and its word in a row; returns where the next begins.
  double key(double x, const std::string& text, Colour ink, double width, bool dashed) {
    constexpr std::array<double, 2> dashes{7.0, 5.0};
    canvas_.ink(ink);
    if (dashed) cairo_set_dash(pen(), dashes.data(), 2, 0.0);
    line({x, 103.5}, {x + 26.0, 103.5}, width);
    cairo_set_dash(pen(), nullptr, 0, 0.0);
    const Box box = canvas_.text(text, {x + 34.0, 94.0}, {.size = 14.0, .colour = colours_.ink});
    return box.x + box.width + 28.0;
  }

  Canvas& canvas_;
  const PlatingReport& report_;
  const PlotOptions& options_;
  const Palette& colours_;
};

class ThicknessSheet : Sheet {
 public:
  ThicknessSheet(Canvas& canvas, const PlatingReport& report, const PlotOptions& options)
      : Sheet{canvas, report, options},
        frame_{canvas,
               colours_,
               {90.0, 152.0, plot_width - 120.0, plot_height - 152.0 - 62.0},
               from_nought(report.disc_radius_m * mm, "radius, mm"),
               micrometres(highest())} {}

  void draw() {
    const auto& band = report_.spread->band;
    head(fmt::format("Thickness along the radius: {:.3g} to {:.3g} µm over the groove, ±{:.1f} %",
                     band.least_m * um,
                     band.most_m * um,
                     100.0 * band.evenness),
         fmt::format("{} · {:.3g} A·h in {:.3g} {} · mean {:.4g} µm{}",
                     of_metal(report_),
                     report_.charge_C / hour_s,
                     report_.time_s / time_unit(report_.time_s).length_s,
                     time_unit(report_.time_s).name,
                     report_.mean_thickness_m * um,
                     shield_words(report_.spread->cell)));
    frame_.draw();
    plate();
    if (report_.before) curve(*report_.before, colours_.quiet_ink, 1.6, true);
    curve(*report_.spread, colours_.copper, 3.0, false);
    if (report_.target_m)
      frame_.limit_line(
          {{0.0, *report_.target_m * um}, {report_.disc_radius_m * mm, *report_.target_m * um}},
          fmt::format("target {:.4g} µm", *report_.target_m * um),
          false);
    mark(band.least_radius_m, band.least_m, "thinnest", false);
    mark(band.most_radius_m, band.most_m, "thickest", true);
    double x = key(
        90.0, report_.before ? "with the shield found" : "as plated", colours_.copper, 3.0, false);
    if (report_.before)
      x = key(x,
              fmt::format("without a shield, ±{:.1f} %", 100.0 * report_.before->band.evenness),
              colours_.quiet_ink,
              1.6,
              true);
    canvas_.ink(colours_.good, 0.15);
    cairo_new_path(pen());
    cairo_rectangle(pen(), x, 96.0, 26.0, 15.0);
    cairo_fill(pen());
    canvas_.text("groove band", {x + 34.0, 94.0}, {.size = 14.0, .colour = colours_.ink});
  }

  static std::string shield_words(const works::PlatingCell& cell) {
    if (!cell.shield) return " · no shield";
    return fmt::format(" · shield: opening {:.1f} mm across, {:.1f} mm off",
                       2.0 * cell.shield->opening_radius_m * mm,
                       cell.shield->distance_m * mm);
  }

 private:
  /// The last rings of the disc rise without bound: they do not set the scale.
  [[nodiscard]] double highest() const {
    double most = report_.target_m.value_or(0.0);
    for (const CellResult* one :
         {&report_.spread.value(), report_.before ? &*report_.before : nullptr}) {
      if (one == nullptr) continue;
      most = std::max(most, one->band.most_m);
      for (std::size_t k = 0; k < one->profile.radius_m.size(); ++k)
        if (one->profile.radius_m[k] < 0.97 * report_.disc_radius_m)
          most = std::max(most, one->profile.thickness_m[k]);
    }
    return most;
  }

  void plate() const {
    const auto& band = report_.spread->band;
    const Point low = frame_.at(band.inner_radius_m * mm, 0.0);
    const Point high = frame_.at(band.outer_radius_m * mm, 0.0);
    canvas_.ink(colours_.good, 0.15);
    cairo_new_path(pen());
    cairo_rectangle(pen(), low.x, frame_.area().y, high.x - low.x, frame_.area().height);
    cairo_fill(pen());
  }

  void curve(const CellResult& result, Colour ink, double width, bool dashed) const {
    constexpr std::array<double, 2> dashes{8.0, 5.0};
    frame_.clip();
    canvas_.ink(ink);
    cairo_set_line_width(pen(), width);
    if (dashed) cairo_set_dash(pen(), dashes.data(), 2, 0.0);
    cairo_new_path(pen());
    for (std::size_t k = 0; k < result.profile.radius_m.size(); ++k) {
      const Point at =
          frame_.at(result.profile.radius_m[k] * mm, result.profile.thickness_m[k] * um);
      if (k == 0) cairo_move_to(pen(), frame_.area().x, at.y);
      cairo_line_to(pen(), at.x, at.y);
    }
    cairo_stroke(pen());
    cairo_set_dash(pen(), nullptr, 0, 0.0);
    frame_.unclip();
  }

  void mark(double radius_m, double thickness_m, const char* word, bool above) {
    const Point at = frame_.at(radius_m * mm, thickness_m * um);
    canvas_.ink(colours_.ink);
    cairo_new_path(pen());
    cairo_arc(pen(), at.x, at.y, 5.0, 0.0, 6.2831853);
    cairo_fill(pen());
    const std::string text =
        fmt::format("{} {:.4g} µm at {:.1f} mm", word, thickness_m * um, radius_m * mm);
    const TextStyle style{.size = 14.0, .colour = colours_.ink, .bold = true};
    const Box size = canvas_.measure(text, {}, style);
    const double x = std::clamp(at.x - size.width / 2.0,
                                frame_.area().x + 4.0,
                                frame_.area().x + frame_.area().width - size.width - 4.0);
    for (const double off : above ? std::array{-size.height - 9.0, 9.0, -size.height - 32.0}
                                  : std::array{9.0, -size.height - 9.0, 32.0})
      if (const Box box{x, at.y + off, size.width, size.height};
          canvas_.is_free(box) && box.y > frame_.area().y) {
        canvas_.ink(colours_.raised);
        cairo_new_path(pen());
        cairo_rectangle(pen(), x - 4.0, box.y, size.width + 8.0, size.height);
        cairo_fill(pen());
        canvas_.text(text, {x, box.y}, style);
        return;
      }
  }

  PlotFrame frame_;
};

/// The section on its mesh, mirrored to show the whole cell.
class CellSheet : Sheet {
 public:
  CellSheet(Canvas& canvas, const PlatingReport& report, const PlotOptions& options)
      : Sheet{canvas, report, options}, result_{*report.spread}, section_{report.spread->section} {
    const double wide = 2.0 * section_.radius_m.back();
    low_ = section_.height_m.front();
    const double high = section_.height_m.back() - low_;
    const double room_x = plot_width - 420.0, room_y = plot_height - 190.0;
    scale_ = std::min(room_x / wide, room_y / high);
    middle_ = 60.0 + room_x / 2.0;
    bottom_ = 112.0 + (room_y + scale_ * high) / 2.0;
  }

  void draw() {
    head("The cell, cut through its axis",
         fmt::format("{} · {:.1f} A · {:.2f} V over bath and cathode{}",
                     of_metal(report_),
                     report_.stages.back().to_A,
                     result_.voltage_V,
                     ThicknessSheet::shield_words(result_.cell)));
    find_range();
    liquid();
    current_lines();
    solids();
    walls();
    disc();
    words();
    legend();
  }

 private:
  [[nodiscard]] Point at(double radius_m, double height_m) const {
    return {middle_ + scale_ * radius_m, bottom_ - scale_ * (height_m - low_)};
  }

  void find_range() {
    least_ = 1e300;
    most_ = -1e300;
    for (const double one : section_.potential_V)
      if (std::isfinite(one)) {
        least_ = std::min(least_, one);
        most_ = std::max(most_, one);
      }
    if (!(most_ > least_)) most_ = least_ + 1e-9;
    ground_ = least_;
  }

  void box(double inner, double outer, double low, double high) const {
    const Point corner = at(inner, high);
    cairo_rectangle(pen(), corner.x, corner.y, scale_ * (outer - inner), scale_ * (high - low));
  }

  /// Colour in pieces of a few units, straight through the middles of neighbouring cells.
  void liquid() const {
    const std::size_t columns = section_.radius_m.size() - 1;
    cairo_set_antialias(pen(), CAIRO_ANTIALIAS_NONE);
    for (std::size_t i = 0; i < section_.potential_V.size(); ++i)
      if (std::isfinite(section_.potential_V[i])) patch(i % columns, i / columns);
    cairo_set_antialias(pen(), CAIRO_ANTIALIAS_DEFAULT);
  }
  void patch(std::size_t column, std::size_t row) const {
    const std::size_t columns = section_.radius_m.size() - 1, here = row * columns + column;
    const auto& r = section_.radius_m;
    const auto& z = section_.height_m;
    const double across = slope(here, column, 1, r), along = slope(here, row, columns, z);
    const int wide = pieces(r[column + 1] - r[column]), high = pieces(z[row + 1] - z[row]);
    for (int i = 0; i < wide; ++i)
      for (int j = 0; j < high; ++j) {
        const double r0 = std::lerp(r[column], r[column + 1], static_cast<double>(i) / wide);
        const double r1 = std::lerp(r[column], r[column + 1], (i + 1.0) / wide);
        const double z0 = std::lerp(z[row], z[row + 1], static_cast<double>(j) / high);
        const double z1 = std::lerp(z[row], z[row + 1], (j + 1.0) / high);
        const double value = section_.potential_V[here] +
                             across * 0.5 * (r0 + r1 - r[column] - r[column + 1]) +
                             along * 0.5 * (z0 + z1 - z[row] - z[row + 1]);
        canvas_.ink(amount_colour((value - least_) / (most_ - least_)));
        // A little over its neighbours, so that no seam shows between them.
        const double over = 0.7 / scale_;
        cairo_new_path(pen());
        box(r0, r1 + over, z0, z1 + over);
        box(-r1 - over, -r0, z0, z1 + over);
        cairo_fill(pen());
      }
  }
  [[nodiscard]] int pieces(double length_m) const {
    return std::clamp(static_cast<int>(std::ceil(length_m * scale_ / 3.0)), 1, 60);
  }
  /// Of the potential along `lines` through the neighbours that are liquid.
  [[nodiscard]] double slope(std::size_t here,
                             std::size_t at,
                             std::size_t stride,
                             const std::vector<double>& lines) const {
    const auto middle = [&](std::size_t k) { return 0.5 * (lines[k] + lines[k + 1]); };
    const auto& potential = section_.potential_V;
    double low = potential[here], high = low, from = middle(at), to = from;
    if (at > 0 && std::isfinite(potential[here - stride])) {
      low = potential[here - stride];
      from = middle(at - 1);
    }
    if (at + 2 < lines.size() && std::isfinite(potential[here + stride])) {
      high = potential[here + stride];
      to = middle(at + 1);
    }
    return to > from ? (high - low) / (to - from) : 0.0;
  }

  /// Contours of the current's share by marching over the mesh's squares: pieces of straight line.
  void current_lines() const {
    canvas_.ink(colour(0xFFFFFF), 0.85);
    cairo_set_line_width(pen(), 1.1);
    cairo_new_path(pen());
    for (int k = 1; k < 10; ++k) contour(0.1 * k);
    cairo_stroke(pen());
  }
  void contour(double level) const {
    const std::size_t lines = section_.radius_m.size();
    for (std::size_t row = 0; row + 1 < section_.height_m.size(); ++row)
      for (std::size_t column = 0; column + 1 < lines; ++column)
        if (std::isfinite(section_.potential_V[row * (lines - 1) + column]))
          square(row, column, level);
  }
  void square(std::size_t row, std::size_t column, double level) const {
    const std::size_t lines = section_.radius_m.size();
    const std::array<std::pair<std::size_t, std::size_t>, 4> corners{
        {{column, row}, {column + 1, row}, {column + 1, row + 1}, {column, row + 1}}};
    std::array<Point, 4> cuts;
    std::size_t count = 0;
    for (std::size_t k = 0; k < 4; ++k) {
      const auto [c0, r0] = corners[k];
      const auto [c1, r1] = corners[(k + 1) % 4];
      const double a = section_.current_share[r0 * lines + c0] - level;
      const double b = section_.current_share[r1 * lines + c1] - level;
      if ((a < 0.0) == (b < 0.0)) continue;
      if (std::abs(a - b) > 0.5) return;  // the two sides of the anode, see PotentialField::section
      const double share = a / (a - b);
      cuts[count++] = {std::lerp(section_.radius_m[c0], section_.radius_m[c1], share),
                       std::lerp(section_.height_m[r0], section_.height_m[r1], share)};
    }
    if (count != 2) return;
    for (const double side : {1.0, -1.0}) {
      const Point from = at(side * cuts[0].x, cuts[0].y), to = at(side * cuts[1].x, cuts[1].y);
      cairo_move_to(pen(), from.x, from.y);
      cairo_line_to(pen(), to.x, to.y);
    }
  }

  void solid(double inner, double outer, double low, double high, Colour fill) const {
    if (!(high > low) || !(outer > inner)) return;
    for (const double side : {1.0, -1.0}) {
      if (inner == 0.0 && side < 0.0) continue;  // one piece through the axis
      const double left = inner == 0.0 || side < 0.0 ? -outer : inner;
      const double right = side > 0.0 ? outer : -inner;
      canvas_.ink(fill);
      cairo_new_path(pen());
      box(left, right, low, high);
      cairo_fill_preserve(pen());
      canvas_.ink(colours_.ink);
      cairo_set_line_width(pen(), 1.0);
      cairo_stroke(pen());
    }
  }

  void solids() const {
    const auto& cell = result_.cell;
    const double least = 4.0 / scale_;  // thin things stay visible
    solid(0.0, cell.holder_radius_m, std::min(-cell.holder_height_m, -least), 0.0, colours_.line);
    solid(cell.disc_radius_m, cell.holder_radius_m, 0.0, cell.rim_height_m, colours_.line);
    if (cell.shield)
      solid(cell.shield->opening_radius_m,
            cell.shield->outer_radius_m,
            cell.shield->distance_m,
            cell.shield->distance_m + std::max(least, cell.shield->thickness_m),
            colours_.line);
    solid(cell.anode_inner_radius_m,
          cell.anode_radius_m,
          cell.anode_distance_m,
          std::max(cell.anode_distance_m + least,
                   std::min(cell.level_m, cell.anode_distance_m + cell.anode_thickness_m)),
          colours_.quiet_ink);
  }

  /// The disc, and ticks where each tenth of the current lands if the deposit is even.
  void disc() const {
    const double radius = result_.cell.disc_radius_m;
    canvas_.ink(colours_.copper);
    line(at(-radius, 0.0), at(radius, 0.0), 6.0);
    canvas_.ink(colours_.ink);
    for (int k = 1; k < 10; ++k)
      for (const double side : {1.0, -1.0}) {
        const Point on = at(side * radius * std::sqrt(0.1 * k), 0.0);
        line({on.x, on.y + 3.0}, {on.x, on.y + 12.0}, 1.6);
      }
  }

  void walls() const {
    const auto& cell = result_.cell;
    canvas_.ink(colours_.ink);
    const Point low_left = at(-cell.cell_radius_m, low_), low_right = at(cell.cell_radius_m, low_);
    const Point left = at(-cell.cell_radius_m, cell.level_m),
                right = at(cell.cell_radius_m, cell.level_m);
    line({low_left.x, left.y - 14.0}, low_left, 3.0);
    line(low_left, low_right, 3.0);
    line(low_right, {low_right.x, right.y - 14.0}, 3.0);
    canvas_.ink(colours_.good);
    line(left, right, 1.5);
  }

  /// Words stand right of the cell, each with a line to what it names.
  void words() {
    const auto& cell = result_.cell;
    struct Named {
      std::string text;
      Point to;
      double y;
    };
    std::vector<Named> named{
        {fmt::format("level, {:.0f} mm above the disc", cell.level_m * mm),
         at(cell.cell_radius_m, cell.level_m),
         0.0},
        {fmt::format("anode, {:.0f} mm off", cell.anode_distance_m * mm),
         at(cell.anode_radius_m,
            cell.anode_distance_m +
                0.3 * (std::min(cell.level_m, cell.anode_distance_m + cell.anode_thickness_m) -
                       cell.anode_distance_m)),
         0.0},
        {fmt::format("disc, {:.4g} mm across", 2.0 * cell.disc_radius_m * mm),
         at(0.97 * cell.disc_radius_m, 0.0),
         0.0}};
    if (cell.holder_radius_m > cell.disc_radius_m || cell.holder_height_m > 0.0)
      named.push_back(
          {"holder, insulating",
           at(cell.holder_radius_m, -0.5 * std::max(cell.holder_height_m, 4.0 / scale_)),
           0.0});
    if (cell.shield)
      named.insert(named.begin() + 2,
                   {fmt::format("shield, opening {:.1f} mm, {:.1f} mm off",
                                2.0 * cell.shield->opening_radius_m * mm,
                                cell.shield->distance_m * mm),
                    at(0.5 * (cell.shield->opening_radius_m + cell.shield->outer_radius_m),
                       cell.shield->distance_m + 0.5 * cell.shield->thickness_m),
                    0.0});
    std::stable_sort(
        named.begin(), named.end(), [](const auto& a, const auto& b) { return a.to.y < b.to.y; });
    const double x = plot_width - 345.0;
    double y = 110.0;
    for (Named& one : named) {
      y = std::max(y, one.to.y - 10.0);
      one.y = y;
      y += 26.0;
    }
    double foot = plot_height - 78.0;
    for (auto one = named.rbegin(); one != named.rend(); ++one) {
      one->y = std::min(one->y, foot - 26.0);
      foot = one->y;
    }
    for (const Named& one : named) {
      canvas_.ink(colours_.ink);
      line(one.to, {x - 8.0, one.y + 10.0}, 1.0);
      cairo_new_path(pen());
      cairo_arc(pen(), one.to.x, one.to.y, 3.0, 0.0, 6.2831853);
      cairo_fill(pen());
      canvas_.text(
          one.text, {x, one.y}, {.size = 15.0, .colour = colours_.ink, .ellipsis_width = 330.0});
    }
  }

  void legend() {
    const double x = 60.0, y = plot_height - 52.0, width = 260.0;
    for (int k = 0; k < 130; ++k) {
      canvas_.ink(amount_colour(k / 129.0));
      cairo_new_path(pen());
      cairo_rectangle(pen(), x + width * k / 130.0, y, width / 130.0 + 0.6, 12.0);
      cairo_fill(pen());
    }
    const TextStyle style{.size = 14.0, .colour = colours_.ink};
    canvas_.text("0", {x, y + 15.0}, style);
    canvas_.text(
        fmt::format("{:.3g} V", most_ - ground_), {x + width, y + 15.0}, style, Align::right);
    canvas_.text("potential in the bath", {x + width / 2.0, y + 15.0}, style, Align::centre);
    canvas_.text(
        "A tenth of the current flows between neighbouring white lines; ticks: where they land "
        "if the deposit is even.",
        {x + width + 30.0, y + 2.0},
        {.size = 14.0, .colour = colours_.quiet_ink, .ellipsis_width = plot_width - width - 120.0});
  }

  const CellResult& result_;
  const works::CellSection& section_;
  double low_{}, scale_{}, middle_{}, bottom_{}, least_{}, most_{}, ground_{};
};

class RampSheet : Sheet {
 public:
  RampSheet(Canvas& canvas, const PlatingReport& report, const PlotOptions& options)
      : Sheet{canvas, report, options},
        current_{canvas,
                 colours_,
                 {90.0, 112.0, plot_width - 120.0, 236.0},
                 time_axis(""),
                 from_nought(1.12 * most_A(), "current, A")},
        laid_{canvas,
              colours_,
              {90.0, 404.0, plot_width - 120.0, plot_height - 404.0 - 62.0},
              time_axis(fmt::format("time, {}", time_unit(report.time_s).name)),
              from_nought(
                  1.12 * um * std::max(report.mean_thickness_m, report.target_m.value_or(0.0)),
                  "mean thickness, µm")} {}

  void draw() {
    head(fmt::format("The run: {:.3g} A·h in {:.3g} {}, mean {:.4g} µm of {}",
                     report_.charge_C / hour_s,
                     report_.time_s / unit(),
                     time_unit(report_.time_s).name,
                     report_.mean_thickness_m * um,
                     report_.metal.name),
         fmt::format("{} · {:.3g} dm² · cathode efficiency {:.0f} %",
                     of_metal(report_),
                     report_.area_m2 * 100.0,
                     100.0 * report_.metal.cathode_efficiency));
    current_.draw();
    laid_.draw();
    curves();
    stage_words();
  }

 private:
  [[nodiscard]] double unit() const { return time_unit(report_.time_s).length_s; }
  [[nodiscard]] double most_A() const {
    double most = 0.0;
    for (const auto& stage : report_.stages) most = std::max({most, stage.from_A, stage.to_A});
    return most;
  }
  [[nodiscard]] Axis time_axis(const std::string& title) const {
    return from_nought(report_.time_s / unit(), title);
  }

  void curves() {
    std::vector<Point> current, laid{{0.0, 0.0}};
    double time_s = 0.0, charge_C = 0.0;
    for (const auto& stage : report_.stages) {
      constexpr int pieces = 24;
      for (int k = 0; k <= pieces; ++k) {
        const double share = static_cast<double>(k) / pieces;
        const double now_A = std::lerp(stage.from_A, stage.to_A, share);
        current.push_back({(time_s + share * stage.time_s) / unit(), now_A});
        laid.push_back({(time_s + share * stage.time_s) / unit(),
                        (charge_C + 0.5 * (stage.from_A + now_A) * share * stage.time_s) /
                            report_.charge_C * report_.mean_thickness_m * um});
      }
      time_s += stage.time_s;
      charge_C += 0.5 * (stage.from_A + stage.to_A) * stage.time_s;
    }
    stroke(current_, current, colours_.copper);
    stroke(laid_, laid, colours_.ink);
    if (report_.target_m)
      // The words stand where the curve is still low.
      laid_.limit_line({{report_.time_s / unit(), *report_.target_m * um},
                        {0.0, *report_.target_m * um},
                        {0.4 * report_.time_s / unit(), *report_.target_m * um}},
                       fmt::format("target {:.4g} µm{}",
                                   *report_.target_m * um,
                                   report_.spread ? " at the thinnest place" : ""),
                       false);
  }
  void stroke(const PlotFrame& frame, const std::vector<Point>& points, Colour ink) const {
    frame.clip();
    canvas_.ink(ink);
    cairo_set_line_width(pen(), 2.8);
    cairo_new_path(pen());
    for (const Point& one : points) {
      const Point place = frame.at(one.x, one.y);
      cairo_line_to(pen(), place.x, place.y);
    }
    cairo_stroke(pen());
    frame.unclip();
  }

  void stage_words() {
    double time_s = 0.0;
    for (const auto& stage : report_.stages) {
      const double middle = (time_s + 0.5 * stage.time_s) / unit();
      time_s += stage.time_s;
      const std::string length = stage.time_s < 180.0 ? fmt::format("{:.3g} s", stage.time_s)
                                 : stage.time_s < 5400.0
                                     ? fmt::format("{:.3g} min", stage.time_s / 60.0)
                                     : fmt::format("{:.3g} h", stage.time_s / hour_s);
      const std::string text = stage.from_A == stage.to_A
                                   ? fmt::format("{:.3g} A for {}", stage.to_A, length)
                                   : fmt::format("to {:.3g} A over {}", stage.to_A, length);
      const TextStyle style{.size = 14.0, .colour = colours_.ink};
      const Box size = canvas_.measure(text, {}, style);
      const Point on = current_.at(middle, 0.5 * (stage.from_A + stage.to_A));
      const Box& area = current_.area();
      const bool held = stage.from_A == stage.to_A;
      const double x = std::clamp(held ? on.x - size.width / 2.0 : on.x + 14.0,
                                  area.x + 4.0,
                                  area.x + area.width - size.width - 4.0);
      const double below = held ? on.y + 6.0 : on.y + 2.0, above = on.y - size.height - 6.0;
      for (const double y : {below, above})
        if (y > area.y && y + size.height < area.y + area.height &&
            canvas_.is_free({x, y, size.width, size.height})) {
          canvas_.text(text, {x, y}, style);
          break;
        }
    }
  }

  PlotFrame current_, laid_;
};

Outcome draw(Canvas& canvas, const PlatingReport& report, const PlotOptions& options, int which) {
  if (which < 2 && !report.spread)
    return Error{
        Fault::bad_input,
        "this run has no cell to draw; give the cell, or --spread for one of ordinary proportions"};
  if (report.stages.empty()) return Error{Fault::bad_input, "this run has no stage to draw"};
  if (which == 0)
    ThicknessSheet{canvas, report, options}.draw();
  else if (which == 1)
    CellSheet{canvas, report, options}.draw();
  else
    RampSheet{canvas, report, options}.draw();
  return Done{};
}

Result<std::string> picture(const PlatingReport& report, const PlotOptions& options, int which) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  if (const auto drawn = draw(canvas, report, options, which); !drawn) return drawn.error();
  return canvas.finish();
}

}  // namespace

Result<std::string> thickness_plot(const PlatingReport& report, const PlotOptions& options) {
  return picture(report, options, 0);
}
Result<std::string> cell_plot(const PlatingReport& report, const PlotOptions& options) {
  return picture(report, options, 1);
}
Result<std::string> ramp_plot(const PlatingReport& report, const PlotOptions& options) {
  return picture(report, options, 2);
}

Result<std::vector<PlacedText>> plating_plot_texts(const PlatingReport& report,
                                                   const PlotOptions& options,
                                                   int which) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  if (const auto drawn = draw(canvas, report, options, which); !drawn) return drawn.error();
  return canvas.texts();
}

}  // namespace goodside::draw
