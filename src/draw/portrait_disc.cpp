#include <cairo.h>
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "draw/marks.hpp"
#include "draw/portrait_parts.hpp"
#include "draw/words.hpp"

namespace goodside::draw {
namespace {

constexpr double turn = 2.0 * std::numbers::pi;

void circle(cairo_t* pen, double radius) {
  cairo_new_path(pen);
  cairo_arc(pen, disc_centre.x, disc_centre.y, radius, 0.0, turn);
}

Point on_page(double page_angle, double radius) {
  return {disc_centre.x + radius * std::cos(page_angle),
          disc_centre.y + radius * std::sin(page_angle)};
}

void draw_body(Sitting& sitting) {
  Canvas& canvas = sitting.canvas;
  circle(canvas.pen(), disc_radius);
  canvas.ink(sitting.colours.line);
  cairo_fill_preserve(canvas.pen());
  canvas.ink(sitting.colours.ink);
  cairo_set_line_width(canvas.pen(), 1.5);
  cairo_stroke(canvas.pen());
}

void draw_label_and_hole(Sitting& sitting) {
  Canvas& canvas = sitting.canvas;
  cairo_t* pen = canvas.pen();
  const double scale = sitting.view.units_per_m;
  circle(pen, sitting.shape.label_radius_m * scale);
  canvas.ink(sitting.colours.raised);
  cairo_fill_preserve(pen);
  canvas.ink(sitting.colours.quiet_ink);
  cairo_set_line_width(pen, 1.0);
  cairo_stroke(pen);
  circle(pen, sitting.shape.hole_radius_m * scale);
  canvas.ink(sitting.colours.ground);
  cairo_fill_preserve(pen);
  canvas.ink(sitting.colours.ink);
  cairo_stroke(pen);
}

void draw_notch(Sitting& sitting) {
  cairo_t* pen = sitting.canvas.pen();
  const double angle = sitting.view.page_angle_rad(0.0);
  const Point tip = on_page(angle, disc_radius - 11.0);
  const Point left = on_page(angle - 0.026, disc_radius + 1.0),
              right = on_page(angle + 0.026, disc_radius + 1.0);
  cairo_new_path(pen);
  cairo_move_to(pen, left.x, left.y);
  cairo_line_to(pen, tip.x, tip.y);
  cairo_line_to(pen, right.x, right.y);
  sitting.canvas.ink(sitting.colours.ground);
  cairo_fill_preserve(pen);
  sitting.canvas.ink(sitting.colours.ink);
  cairo_set_line_width(pen, 1.5);
  cairo_stroke(pen);
}

/// A text outside the edge, at a page angle.
void rim_text(Sitting& sitting, double page_angle, const std::string& text, Colour colour) {
  const TextStyle style{.size = 13.0, .colour = colour};
  const Box size = sitting.canvas.measure(text, {}, style);
  const double gap = 8.0 + std::abs(std::cos(page_angle)) * size.width / 2.0 +
                     std::abs(std::sin(page_angle)) * size.height / 2.0;
  const Point at = on_page(page_angle, disc_radius + gap);
  const Box box{at.x - size.width / 2.0, at.y - size.height / 2.0, size.width, size.height};
  if (sitting.canvas.is_free(box)) sitting.canvas.text(text, {box.x, box.y}, style);
}

void draw_angles(Sitting& sitting) {
  const auto& options = sitting.options;
  rim_text(sitting, sitting.view.page_angle_rad(0.0), "0° start", sitting.colours.ink);
  if (!options.landmark.empty()) {
    rim_text(sitting, -turn / 4.0, options.landmark, sitting.colours.copper);
    sitting.canvas.ink(sitting.colours.copper);
    cairo_t* pen = sitting.canvas.pen();
    cairo_set_line_width(pen, 3.0);
    cairo_move_to(pen, disc_centre.x, disc_centre.y - disc_radius - 5.0);
    cairo_line_to(pen, disc_centre.x, disc_centre.y - disc_radius + 7.0);
    cairo_stroke(pen);
  }
  for (const int angle_deg : {90, 180, 270})
    rim_text(sitting,
             sitting.view.page_angle_rad(angle_deg),
             fmt::format("{}°", angle_deg),
             sitting.colours.quiet_ink);
}

/// A bent arrow outside the edge from a page angle on, clockwise for a positive span.
struct Bow {
  double from, span;
  [[nodiscard]] double to() const { return from + span; }
  [[nodiscard]] double middle() const { return from + span / 2.0; }
};

constexpr double bow_radius = disc_radius + 13.0;

/// Its meaning is written outside its middle.
Box bow_text(const Sitting& sitting, const Bow& bow, const std::string& text) {
  const Point at = on_page(bow.middle(), bow_radius + 9.0);
  const Box size = sitting.canvas.measure(text, {}, {.size = 13.0});
  return {std::cos(bow.middle()) < 0.0 ? at.x - size.width : at.x,
          std::sin(bow.middle()) < 0.0 ? at.y - size.height : at.y,
          size.width,
          size.height};
}

bool fits(const Sitting& sitting, const Bow& bow, const Box& text) {
  if (text.x < 8.0 || text.x + text.width > notes_left - 8.0) return false;
  if (!sitting.canvas.is_free(text)) return false;
  for (double share = 0.0; share <= 1.0; share += 0.05) {
    const Point at = on_page(bow.from + share * bow.span, bow_radius);
    if (!sitting.canvas.is_free({at.x - 8.0, at.y - 8.0, 16.0, 16.0})) return false;
  }
  return true;
}

/// Draws the bow at the first place round the edge, from `bow` on its own way, that is
/// free.
void direction(Sitting& sitting, Bow bow, const std::string& text) {
  Canvas& canvas = sitting.canvas;
  cairo_t* pen = canvas.pen();
  for (int tries = 0; tries < 31 && !fits(sitting, bow, bow_text(sitting, bow, text)); ++tries)
    bow.from += std::copysign(turn / 32.0, bow.span);
  const double shaft_to = bow.to() - std::copysign(0.03, bow.span);
  canvas.ink(sitting.colours.ink);
  cairo_set_line_width(pen, 1.6);
  cairo_new_path(pen);
  if (bow.span > 0.0)
    cairo_arc(pen, disc_centre.x, disc_centre.y, bow_radius, bow.from, shaft_to);
  else
    cairo_arc_negative(pen, disc_centre.x, disc_centre.y, bow_radius, bow.from, shaft_to);
  cairo_stroke(pen);
  draw_arrow(canvas, on_page(shaft_to, bow_radius), on_page(bow.to(), bow_radius), 11.0);
  const Box box = bow_text(sitting, bow, text);
  canvas.text(text, {box.x, box.y}, {.size = 13.0, .colour = sitting.colours.ink});
}

void draw_directions(Sitting& sitting) {
  // From the top, the way the groove's angle grows: to the left on a disc, to the right on a
  // stamper.
  const bool mirrored = is_mirrored(sitting.options.view);
  const double way = mirrored ? 1.0 : -1.0;
  direction(sitting,
            {.from = -turn / 4.0 + way * turn * 0.085, .span = way * turn * 0.07},
            "programme runs");
  if (!mirrored) direction(sitting, {.from = turn * 0.095, .span = turn * 0.06}, "disc turns");
}

/// Two lines in the label, above the hole, instead of marks that would mean nothing.
void draw_refusal(Sitting& sitting, const std::string& first, const std::string& second) {
  const TextStyle style{.size = 16.0, .colour = sitting.colours.ink, .bold = true};
  const double above =
      (sitting.shape.label_radius_m + sitting.shape.hole_radius_m) / 2.0 * sitting.view.units_per_m;
  const double height = sitting.canvas.measure(first, {}, style).height;
  const Point at{disc_centre.x, disc_centre.y - above};
  sitting.canvas.text(first, {at.x, at.y - height}, style, Align::centre);
  sitting.canvas.text(second, at, style, Align::centre);
}

}  // namespace

void draw_offset(Sitting& sitting) {
  const auto& wow = sitting.report.wow;
  if (sitting.offset_magnification <= 0.0) return;
  Canvas& canvas = sitting.canvas;
  cairo_t* pen = canvas.pen();
  const double scale = sitting.view.units_per_m * sitting.offset_magnification;
  const Point tip = sitting.view.place(*wow.eccentricity_m * sitting.offset_magnification,
                                       *wow.eccentricity_direction_deg);
  canvas.ink(sitting.colours.copper);
  cairo_set_line_width(pen, 2.5);
  cairo_new_path(pen);
  draw_arrow(canvas, disc_centre, tip, 12.0);
  cairo_set_line_width(pen, 1.2);
  if (wow.eccentricity_sigma_m) {
    // Both components of the offset are known equally well: the ellipse is a circle.
    cairo_arc(pen, tip.x, tip.y, std::max(2.0 * *wow.eccentricity_sigma_m * scale, 1.0), 0.0, turn);
    cairo_stroke(pen);
  }
  // Its figures stand in the other half of the label.
  const bool below = tip.y <= disc_centre.y;
  const double room = sitting.shape.label_radius_m * sitting.view.units_per_m;
  const TextStyle style{.size = 14.0, .colour = sitting.colours.ink, .bold = true};
  const std::string length = fmt::format("{:.2f} mm", *wow.eccentricity_m * 1e3);
  const std::string drawn = fmt::format("drawn × {:.0f}", sitting.offset_magnification);
  const double first = disc_centre.y + (below ? room * 0.45 : -room * 0.45 - 34.0);
  const Box box = canvas.text(length, {disc_centre.x, first}, style, Align::centre);
  canvas.text(drawn,
              {disc_centre.x, box.y + box.height + 1.0},
              {.size = 13.0, .colour = sitting.colours.quiet_ink},
              Align::centre);
}

void draw_disc(Sitting& sitting) {
  draw_body(sitting);
  draw_noise(sitting);
  draw_label_and_hole(sitting);
  draw_notch(sitting);
  draw_angles(sitting);
  draw_directions(sitting);
  switch (standing(sitting.report)) {
    case Standing::not_this_cut:
      return draw_refusal(sitting, "not laid", "over the cut");
    case Standing::unjudged:
      return draw_refusal(sitting, "heard", "without its cut");
    case Standing::good:
    case Standing::out:
      break;
  }
  draw_rings(sitting);
  draw_offset(sitting);
  draw_faults(sitting);
  draw_ring_figures(sitting);
  draw_fault_numbers(sitting);
}

}  // namespace goodside::draw
