#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "draw/portrait_parts.hpp"
#include "draw/words.hpp"

namespace goodside::draw {
namespace {

constexpr double least_spacing = 30.0, figure_size = 13.0;

struct Ring {
  double time_s, radius_m;
};

std::vector<Ring> rings_of(const Sitting& sitting) {
  const auto& side = sitting.side;
  std::vector<Ring> rings;
  if (!(side.pitch_m > 0.0)) return rings;
  const double speed_m_per_s = side.pitch_m * side.rpm / 60.0;  // of the radius
  const double least_s = least_spacing / (speed_m_per_s * sitting.view.units_per_m);
  double step_s = 1200.0;
  for (const double candidate : {10.0, 30.0, 60.0, 120.0, 300.0, 600.0})
    if (candidate >= least_s) {
      step_s = candidate;
      break;
    }
  for (int i = 1; i < 40; ++i) {
    const double radius_m = side.outer_radius_m - i * step_s * speed_m_per_s;
    if (radius_m < side.inner_radius_m) break;
    rings.push_back({i * step_s, radius_m});
  }
  // A band too narrow for any is told by its end.
  if (rings.empty())
    rings.push_back(
        {(side.outer_radius_m - side.inner_radius_m) / speed_m_per_s, side.inner_radius_m});
  return rings;
}

std::string label_of(const Sitting& sitting, const Ring& ring) {
  return fmt::format(
      "{}  {:.0f} mm", clock_s(ring.time_s), sitting.shown_radius_m(ring.radius_m) * 1e3);
}

/// Where the rings' figures would stand along a page angle.
std::vector<Box> plates_along(const Sitting& sitting,
                              const std::vector<Ring>& rings,
                              double page_angle) {
  std::vector<Box> plates;
  for (const Ring& ring : rings) {
    const double radius = ring.radius_m * sitting.view.units_per_m;
    const Point at{disc_centre.x + radius * std::cos(page_angle),
                   disc_centre.y + radius * std::sin(page_angle)};
    const Box size = sitting.canvas.measure(label_of(sitting, ring), {}, {.size = figure_size});
    plates.push_back(
        {at.x - size.width / 2.0 - 4.0, at.y - size.height / 2.0, size.width + 8.0, size.height});
  }
  return plates;
}

/// What the figures would hide: a fault of the table weighs most, then a figure's own neighbour.
double hidden(const Sitting& sitting, const std::vector<Box>& plates) {
  constexpr double listed_weight = 50.0, neighbour_weight = 20.0;
  double cost = 0.0;
  for (std::size_t rank = 0; rank < sitting.worst.size(); ++rank) {
    const auto& fault = sitting.report.faults[sitting.worst[rank]];
    if (!fault.angle_deg || !fault.radius_m) continue;
    const Point at = sitting.view.place(*fault.radius_m, *fault.angle_deg);
    const Box mark{at.x - 10.0, at.y - 10.0, 20.0, 20.0};
    for (const Box& plate : plates)
      if (plate.meets(mark)) cost += rank < listed_faults ? listed_weight : 1.0;
  }
  for (std::size_t i = 0; i < plates.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (plates[i].meets(plates[j])) cost += neighbour_weight;
  return cost;
}

/// The direction in which the figures hide least; downwards when it is all the same.
std::vector<Box> best_plates(const Sitting& sitting, const std::vector<Ring>& rings) {
  constexpr int directions = 24;
  std::vector<Box> best;
  double least = std::numeric_limits<double>::infinity();
  for (int i = 0; i < directions; ++i) {
    auto plates = plates_along(
        sitting, rings, std::numbers::pi / 2.0 + i * 2.0 * std::numbers::pi / directions);
    const double cost = hidden(sitting, plates);
    if (cost >= least) continue;
    least = cost;
    best = std::move(plates);
  }
  return best;
}

}  // namespace

void draw_rings(Sitting& sitting) {
  cairo_t* pen = sitting.canvas.pen();
  sitting.canvas.ink(sitting.noise_scale ? sitting.colours.ground : sitting.colours.line);
  cairo_set_line_width(pen, 0.8);
  for (const Ring& ring : rings_of(sitting)) {
    cairo_new_path(pen);
    cairo_arc(pen,
              disc_centre.x,
              disc_centre.y,
              ring.radius_m * sitting.view.units_per_m,
              0.0,
              2.0 * std::numbers::pi);
    cairo_stroke(pen);
  }
}

void draw_ring_figures(Sitting& sitting) {
  Canvas& canvas = sitting.canvas;
  cairo_t* pen = canvas.pen();
  const auto rings = rings_of(sitting);
  const auto plates = best_plates(sitting, rings);
  for (std::size_t i = 0; i < rings.size(); ++i) {
    const Box& plate = plates[i];
    if (!canvas.is_free(plate)) continue;
    canvas.ink(sitting.colours.ground);
    cairo_rectangle(pen, plate.x, plate.y, plate.width, plate.height);
    cairo_fill(pen);
    canvas.text(label_of(sitting, rings[i]),
                {plate.x + 4.0, plate.y},
                {.size = figure_size, .colour = sitting.colours.ink});
  }
}

}  // namespace goodside::draw
