#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "draw/portrait_parts.hpp"

namespace goodside::draw {
namespace {

struct Sector {
  double outer_m, inner_m, from_deg, to_deg;
};

void sector_path(const Sitting& sitting, const Sector& sector) {
  const DiscView& view = sitting.view;
  cairo_t* pen = sitting.canvas.pen();
  double from = view.page_angle_rad(sector.from_deg), to = view.page_angle_rad(sector.to_deg);
  if (from > to) std::swap(from, to);
  cairo_new_path(pen);
  cairo_arc(pen, view.centre.x, view.centre.y, sector.outer_m * view.units_per_m, from, to);
  cairo_arc_negative(
      pen, view.centre.x, view.centre.y, sector.inner_m * view.units_per_m, to, from);
  cairo_close_path(pen);
}

void band_path(const Sitting& sitting, double outer_m, double inner_m) {
  const DiscView& view = sitting.view;
  cairo_t* pen = sitting.canvas.pen();
  cairo_new_path(pen);
  cairo_arc(
      pen, view.centre.x, view.centre.y, outer_m * view.units_per_m, 0.0, 2.0 * std::numbers::pi);
  cairo_new_sub_path(pen);
  cairo_arc_negative(
      pen, view.centre.x, view.centre.y, inner_m * view.units_per_m, 2.0 * std::numbers::pi, 0.0);
}

/// Without a noise map the groove that was heard is at least told from the groove that was not.
void fill_heard(Sitting& sitting) {
  sitting.canvas.ink(sitting.colours.raised);
  for (const auto& heard : sitting.report.heard) {
    const double turns_per_s = sitting.side.rpm / 60.0;
    band_path(sitting,
              groove_radius_m(sitting.side, heard.from_s * turns_per_s),
              groove_radius_m(sitting.side, heard.to_s * turns_per_s));
    cairo_fill(sitting.canvas.pen());
  }
}

void fill_cells(Sitting& sitting, const works::PolarMap& map) {
  cairo_t* pen = sitting.canvas.pen();
  // Neighbours would leave hairlines of ground between them: each cell reaches a little under the
  // next.
  const double spare_m = 0.6 / sitting.view.units_per_m;
  const double width_deg = 360.0 / map.columns;
  for (int row = 0; row < map.rows; ++row) {
    const double outer_m = groove_radius_m(sitting.side, row * map.revolutions_per_row);
    const double inner_m = groove_radius_m(sitting.side, (row + 1) * map.revolutions_per_row);
    if (!(outer_m > inner_m)) continue;
    const double spare_deg = spare_m / inner_m * 180.0 / std::numbers::pi;
    for (int column = 0; column < map.columns; ++column) {
      const auto& cell = map.dB[static_cast<std::size_t>(row * map.columns + column)];
      if (!cell || !std::isfinite(*cell)) continue;
      sector_path(sitting,
                  {.outer_m = outer_m,
                   .inner_m = std::max(inner_m - spare_m, sitting.side.inner_radius_m),
                   .from_deg = column * width_deg,
                   .to_deg = (column + 1) * width_deg + spare_deg});
      sitting.canvas.ink(amount_colour(sitting.noise_scale->amount(*cell)));
      cairo_fill(pen);
    }
  }
}

bool is_whole(const works::PolarMap& map) {
  return map.columns > 0 && map.rows > 0 && map.revolutions_per_row > 0.0 &&
         map.dB.size() ==
             static_cast<std::size_t>(map.columns) * static_cast<std::size_t>(map.rows);
}

}  // namespace

void hatch(Sitting& sitting, const Box& box) {
  cairo_t* pen = sitting.canvas.pen();
  sitting.canvas.ink(sitting.colours.quiet_ink);
  cairo_set_line_width(pen, 0.7);
  cairo_new_path(pen);
  for (double x = box.x - box.height; x < box.x + box.width; x += 8.0) {
    cairo_move_to(pen, x, box.y + box.height);
    cairo_line_to(pen, x + box.height, box.y);
  }
  cairo_stroke(pen);
}

void draw_noise(Sitting& sitting) {
  cairo_t* pen = sitting.canvas.pen();
  const auto& side = sitting.side;
  cairo_save(pen);
  cairo_set_fill_rule(pen, CAIRO_FILL_RULE_EVEN_ODD);
  band_path(sitting, side.outer_radius_m, side.inner_radius_m);
  cairo_clip_preserve(pen);
  sitting.canvas.ink(sitting.colours.ground);
  cairo_fill(pen);
  hatch(sitting,
        {disc_centre.x - disc_radius,
         disc_centre.y - disc_radius,
         2.0 * disc_radius,
         2.0 * disc_radius});
  const auto& polar = sitting.report.noise.polar;
  if (sitting.noise_scale && is_whole(*polar))
    fill_cells(sitting, *polar);
  else if (sitting.report.alignment && sitting.report.alignment->found)
    fill_heard(sitting);
  cairo_restore(pen);
  sitting.canvas.ink(sitting.colours.quiet_ink);
  cairo_set_line_width(pen, 1.0);
  for (const double radius_m : {side.outer_radius_m, side.inner_radius_m}) {
    cairo_new_path(pen);
    cairo_arc(pen,
              disc_centre.x,
              disc_centre.y,
              radius_m * sitting.view.units_per_m,
              0.0,
              2.0 * std::numbers::pi);
    cairo_stroke(pen);
  }
}

}  // namespace goodside::draw
