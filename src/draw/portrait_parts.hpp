#pragma once
#include <cstddef>
#include <optional>
#include <vector>

#include "draw/canvas.hpp"
#include "draw/disc_shape.hpp"
#include "draw/disc_view.hpp"
#include "draw/noise_scale.hpp"
#include "draw/portrait.hpp"

namespace goodside::draw {

inline constexpr double page_width = 1188.0, page_height = 840.0;  // the proportions of A4, lying
inline constexpr double disc_radius = 312.0;
inline constexpr Point disc_centre{396.0, 474.0};
inline constexpr double notes_left = 790.0, notes_width = 368.0;
inline constexpr std::size_t listed_faults = 7;

/// What the parts of one portrait share.
struct Sitting {
  Canvas& canvas;
  const works::ListeningReport& report;
  const PortraitOptions& options;
  const Palette& colours;
  works::SideGeometry side;  ///< the report's, its pitch filled in where the length tells it
  DiscShape shape;
  DiscView view;
  std::vector<std::size_t> worst;          ///< of the faults, worst first
  std::optional<AmountScale> noise_scale;  ///< none: no noise was measured
  double offset_magnification{};           ///< 0: no offset to draw

  [[nodiscard]] double shown_radius_m(double radius_on_disc_m) const {
    return is_metal(options.view) ? radius_on_disc_m / (1.0 - options.shrinkage) : radius_on_disc_m;
  }
};

/// Whether a fault can be marked: one heard without the cut has no place on the disc.
bool has_place(const works::FaultEvent&);
/// The head line: verdict in shape and word, counts, what is seen.
void draw_head(Sitting&);
/// Disc, noise, rings, patterns, faults, offset, directions.
void draw_disc(Sitting&);
/// The band with its noise colours, hatched where nothing was heard or measured.
void draw_noise(Sitting&);
/// Rings of programme time.
void draw_rings(Sitting&);
/// Their time and radius, where they hide the fewest faults.
void draw_ring_figures(Sitting&);
/// Patterns and marks.
void draw_faults(Sitting&);
/// The numbers beside the marks that lead to the table.
void draw_fault_numbers(Sitting&);
/// In the label: the arrow from the hole to the groove's centre, enlarged.
void draw_offset(Sitting&);
/// The column beside it: reasons, table of the worst faults, marks, offset, noise scale.
void draw_notes(Sitting&);
/// Fills a box with slanting lines in the current clip.
void hatch(Sitting&, const Box&);

}  // namespace goodside::draw
