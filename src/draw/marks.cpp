#include "draw/marks.hpp"

#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace goodside::draw {
namespace {

constexpr double turn = 2.0 * std::numbers::pi;

/// Strokes or fills the current path twice: a wide rim of ground, then the ink.
void rimmed(Canvas& canvas, const Palette& colours, bool filled, double line_width) {
  cairo_t* pen = canvas.pen();
  cairo_set_line_join(pen, CAIRO_LINE_JOIN_ROUND);
  canvas.ink(colours.ground);
  cairo_set_line_width(pen, line_width + 3.0);
  cairo_stroke_preserve(pen);
  canvas.ink(colours.ink);
  cairo_set_line_width(pen, line_width);
  if (filled) cairo_fill_preserve(pen);
  cairo_stroke(pen);
}

/// A wedge whose point looks to the disc's centre.
void wedge(cairo_t* pen, double size) {
  cairo_move_to(pen, size * 1.2, 0.0);
  cairo_line_to(pen, -size * 0.9, size * 0.8);
  cairo_line_to(pen, -size * 0.9, -size * 0.8);
  cairo_close_path(pen);
}

void arrow(cairo_t* pen, double size) {
  cairo_move_to(pen, -size * 1.5, 0.0);
  cairo_line_to(pen, size * 1.5, 0.0);
  cairo_move_to(pen, size * 0.5, size * 0.8);
  cairo_line_to(pen, size * 1.5, 0.0);
  cairo_line_to(pen, size * 0.5, -size * 0.8);
}

}  // namespace

double mark_radius(double peak_dB) {
  return 3.5 + 6.5 * std::clamp((peak_dB + 40.0) / 40.0, 0.0, 1.0);
}

void draw_mark(Canvas& canvas,
               works::FaultKind kind,
               const MarkPlace& place,
               const Palette& colours) {
  using works::FaultKind;
  cairo_t* pen = canvas.pen();
  const double turned = kind == FaultKind::repeat ? turn / 2.0 : 0.0;
  const double size = place.radius;
  cairo_save(pen);
  cairo_translate(pen, place.at.x, place.at.y);
  cairo_rotate(pen, place.inwards_rad + turned);
  cairo_new_path(pen);
  switch (kind) {
    case FaultKind::tick:
      cairo_arc(pen, 0.0, 0.0, size * 0.8, 0.0, turn);
      rimmed(canvas, colours, true, 0.5);
      break;
    case FaultKind::pop:
      cairo_arc(pen, 0.0, 0.0, size, 0.0, turn);
      rimmed(canvas, colours, false, 2.4);
      break;
    case FaultKind::burst:
      wedge(pen, size);
      rimmed(canvas, colours, true, 0.5);
      break;
    case FaultKind::dropout:
      wedge(pen, size);
      rimmed(canvas, colours, false, 2.0);
      break;
    case FaultKind::jump:
    case FaultKind::repeat:
      arrow(pen, std::max(size, 7.0));
      rimmed(canvas, colours, false, 2.8);
      break;
    case FaultKind::clip:
      cairo_rectangle(pen, -size * 0.75, -size * 0.75, size * 1.5, size * 1.5);
      rimmed(canvas, colours, true, 0.5);
      break;
  }
  cairo_restore(pen);
}

Colour standing_colour(Standing standing, const Palette& colours) {
  switch (standing) {
    case Standing::good:
      return colours.good;
    case Standing::out:
    case Standing::not_this_cut:
      return colours.out;
    case Standing::unjudged:
      break;
  }
  return colours.ink;
}

void draw_standing(
    Canvas& canvas, Standing standing, Point at, double radius, const Palette& colours) {
  cairo_t* pen = canvas.pen();
  canvas.ink(standing_colour(standing, colours));
  cairo_new_path(pen);
  switch (standing) {
    case Standing::good:
      cairo_arc(pen, at.x, at.y, radius, 0.0, turn);
      cairo_fill(pen);
      break;
    case Standing::out:
    case Standing::not_this_cut:
      cairo_move_to(pen, at.x, at.y - radius);
      cairo_line_to(pen, at.x + radius * 1.1, at.y + radius * 0.9);
      cairo_line_to(pen, at.x - radius * 1.1, at.y + radius * 0.9);
      cairo_close_path(pen);
      cairo_fill(pen);
      break;
    case Standing::unjudged:
      cairo_set_line_width(pen, radius * 0.25);
      cairo_arc(pen, at.x, at.y, radius * 0.87, 0.0, turn);
      cairo_stroke(pen);
      break;
  }
}

void draw_arrow(Canvas& canvas, Point from, Point to, double head) {
  cairo_t* pen = canvas.pen();
  const double length = std::hypot(to.x - from.x, to.y - from.y);
  if (length <= 0.0) return;
  const double ux = (to.x - from.x) / length, uy = (to.y - from.y) / length;
  const double reach = std::min(head, length), half = 0.45 * reach;
  cairo_new_path(pen);
  cairo_move_to(pen, from.x, from.y);
  cairo_line_to(pen, to.x - ux * reach * 0.7, to.y - uy * reach * 0.7);
  cairo_stroke(pen);
  cairo_move_to(pen, to.x, to.y);
  cairo_line_to(pen, to.x - ux * reach - uy * half, to.y - uy * reach + ux * half);
  cairo_line_to(pen, to.x - ux * reach + uy * half, to.y - uy * reach - ux * half);
  cairo_close_path(pen);
  cairo_fill(pen);
}

}  // namespace goodside::draw
