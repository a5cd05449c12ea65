#pragma once
#include "draw/canvas.hpp"
#include "draw/words.hpp"

namespace goodside::draw {

/// Half the size of a mark in page units: 3.5 at -40 dB and below, 10 at 0 dB (full scale of the
/// programme).
[[nodiscard]] double mark_radius(double peak_dB);

/// Where a mark stands and how it lies: `inwards_rad` points to the disc's centre, as cairo counts
/// angles.
struct MarkPlace {
  Point at;
  double inwards_rad{};
  double radius{};
};

/// The mark of a fault with a rim of ground colour, so that it reads on every noise colour: tick
/// dot, pop ring, burst wedge, dropout open wedge, jump arrow (inwards) and repeat arrow
/// (outwards), clip square.
void draw_mark(Canvas&, works::FaultKind, const MarkPlace&, const Palette&);

/// The shape of a verdict: filled circle, filled triangle, open circle.
void draw_standing(Canvas&, Standing, Point at, double radius, const Palette&);
[[nodiscard]] Colour standing_colour(Standing, const Palette&);

/// A line with an arrow head at its end.
void draw_arrow(Canvas&, Point from, Point to, double head);

}  // namespace goodside::draw
