#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "draw/marks.hpp"
#include "draw/portrait_parts.hpp"

namespace goodside::draw {
namespace {

using works::FaultEvent;
using works::Pattern;
using works::PatternKind;

/// Marks shrink when there are more than the disc has room for.
double crowding(std::size_t faults) {
  constexpr double roomy = 120.0;
  return std::clamp(std::sqrt(roomy / std::max(1.0, static_cast<double>(faults))), 0.45, 1.0);
}

MarkPlace place_of(const Sitting& sitting, const FaultEvent& fault) {
  const Point at = sitting.view.place(*fault.radius_m, *fault.angle_deg);
  return {.at = at,
          .inwards_rad = std::atan2(disc_centre.y - at.y, disc_centre.x - at.x),
          .radius = mark_radius(fault.peak_dB) * crowding(sitting.report.faults.size())};
}

Box box_round(const MarkPlace& mark) {
  const double reach = mark.radius + 1.5;
  return {mark.at.x - reach, mark.at.y - reach, 2.0 * reach, 2.0 * reach};
}

/// Copper on a rim of ground: the pattern stays apart from the faults that make it.
void stroke_pattern(Sitting& sitting) {
  cairo_t* pen = sitting.canvas.pen();
  sitting.canvas.ink(sitting.colours.ground);
  cairo_set_line_width(pen, 6.0);
  cairo_stroke_preserve(pen);
  sitting.canvas.ink(sitting.colours.copper);
  cairo_set_line_width(pen, 3.0);
  cairo_stroke(pen);
}

void draw_pattern(Sitting& sitting, const Pattern& pattern) {
  if (!pattern.angle_deg) return;
  const DiscView& view = sitting.view;
  cairo_t* pen = sitting.canvas.pen();
  const auto turn = [](std::int64_t revolution) { return static_cast<double>(revolution); };
  // A few turns are narrower than a mark: the drawing reaches past the faults on either side.
  const double past_m = (pattern.kind == PatternKind::radial ? 24.0 : 4.0) / view.units_per_m;
  const double outer_m =
      std::min(groove_radius_m(sitting.side, turn(pattern.first_revolution)) + past_m,
               sitting.shape.edge_radius_m);
  const double inner_m =
      std::max(groove_radius_m(sitting.side, turn(pattern.last_revolution) + 1.0) - past_m,
               sitting.shape.label_radius_m);
  cairo_new_path(pen);
  if (pattern.kind == PatternKind::radial) {
    const Point from = view.place(outer_m, *pattern.angle_deg),
                to = view.place(inner_m, *pattern.angle_deg);
    cairo_move_to(pen, from.x, from.y);
    cairo_line_to(pen, to.x, to.y);
    stroke_pattern(sitting);
  } else if (pattern.kind == PatternKind::arc || pattern.kind == PatternKind::patch) {
    const double half_deg = std::max(pattern.angle_span_deg.value_or(0.0), 4.0) / 2.0;
    double from = view.page_angle_rad(*pattern.angle_deg - half_deg);
    double to = view.page_angle_rad(*pattern.angle_deg + half_deg);
    if (from > to) std::swap(from, to);
    cairo_arc(pen, view.centre.x, view.centre.y, outer_m * view.units_per_m, from, to);
    cairo_arc_negative(pen, view.centre.x, view.centre.y, inner_m * view.units_per_m, to, from);
    cairo_close_path(pen);
    stroke_pattern(sitting);
  }
}

/// The first of sixteen places round the mark where the number covers neither text nor another
/// mark.
void number(Sitting& sitting,
            std::size_t rank,
            const MarkPlace& mark,
            const std::vector<Box>& marks) {
  Canvas& canvas = sitting.canvas;
  const TextStyle style{.size = 13.0, .colour = sitting.colours.ink, .bold = true};
  const std::string text = std::to_string(rank);
  const Box size = canvas.measure(text, {}, style);
  for (const bool spare_marks : {true, false})
    for (int step = 0; step < 16; ++step) {
      const double angle = mark.inwards_rad + std::numbers::pi * (0.5 + step / 8.0);
      const double reach = mark.radius + (step % 2 == 0 ? 12.0 : 20.0);
      const Point at{mark.at.x + reach * std::cos(angle), mark.at.y + reach * std::sin(angle)};
      const Box plate{at.x - size.width / 2.0 - 2.0, at.y - 8.0, size.width + 4.0, 16.0};
      const bool covers = std::any_of(
          marks.begin(), marks.end(), [&](const Box& other) { return other.meets(plate); });
      if ((spare_marks && covers) || !canvas.is_free(plate)) continue;
      canvas.ink(sitting.colours.ground);
      cairo_rectangle(canvas.pen(), plate.x, plate.y, plate.width, plate.height);
      cairo_fill(canvas.pen());
      canvas.text(text, {at.x, at.y - size.height / 2.0}, style, Align::centre);
      return;
    }
}

}  // namespace

bool has_place(const FaultEvent& fault) {
  return fault.angle_deg && fault.radius_m;
}

void draw_faults(Sitting& sitting) {
  for (const Pattern& pattern : sitting.report.patterns) draw_pattern(sitting, pattern);
  for (auto rank = sitting.worst.rbegin(); rank != sitting.worst.rend(); ++rank) {
    const FaultEvent& fault = sitting.report.faults[*rank];
    if (has_place(fault))
      draw_mark(sitting.canvas, fault.kind, place_of(sitting, fault), sitting.colours);
  }
}

void draw_fault_numbers(Sitting& sitting) {
  const auto& faults = sitting.report.faults;
  std::vector<Box> marks;
  for (const FaultEvent& fault : faults)
    if (has_place(fault)) marks.push_back(box_round(place_of(sitting, fault)));
  for (std::size_t i = 0; i < std::min(listed_faults, sitting.worst.size()); ++i) {
    const FaultEvent& fault = faults[sitting.worst[i]];
    if (has_place(fault)) number(sitting, i + 1, place_of(sitting, fault), marks);
  }
}

}  // namespace goodside::draw
