#include <fmt/format.h>

#include <algorithm>

#include "draw/marks.hpp"
#include "draw/portrait_parts.hpp"
#include "draw/words.hpp"

namespace goodside::draw {
namespace {

/// Heard alone: what is drawn has its place only if the capture begins where the groove does.
std::string counts_alone(const works::ListeningReport& report) {
  std::string text = fmt::format("{} plain fault{} heard without the cut",
                                 report.faults.size(),
                                 report.faults.size() == 1 ? "" : "s");
  if (report.noise.weighted_dB)
    text += fmt::format(" · noise {:.1f} dB or less", *report.noise.weighted_dB);
  if (!report.patterns.empty() || report.noise.polar)
    text += " · drawn as if the capture began with the groove";
  return text;
}

std::string counts(const works::ListeningReport& report) {
  const auto count = [&](works::Audibility audibility) {
    return std::count_if(report.faults.begin(), report.faults.end(), [&](const auto& fault) {
      return fault.audibility == audibility;
    });
  };
  std::string text = fmt::format("{} plain and {} slight faults",
                                 count(works::Audibility::plain),
                                 count(works::Audibility::slight));
  if (report.wow.eccentricity_m)
    text += fmt::format(" · offset {:.2f} mm", *report.wow.eccentricity_m * 1e3);
  if (report.alignment)
    text += fmt::format(" · speed {:+.2f} %", report.alignment->speed_error_ppm * 1e-4);
  if (report.noise.weighted_dB)
    text += fmt::format(" · noise {:.1f} dB", *report.noise.weighted_dB);
  return text;
}

std::string_view seen(View view) {
  switch (view) {
    case View::disc:
      return "disc, as heard";
    case View::mother:
      return "mother, as heard";
    case View::stamper:
      return "stamper, face up: mirrored";
    case View::father:
      return "father, face up: mirrored";
  }
  return "";
}

std::string second_line(const Sitting& sitting, Standing stands) {
  switch (stands) {
    case Standing::not_this_cut:
      return "Wrong title, wrong side or another take: check the ticket and the matrix number";
    case Standing::unjudged:
    case Standing::good:
    case Standing::out:
      break;
  }
  const bool alone = !sitting.report.reference && !sitting.report.alignment;
  return alone ? counts_alone(sitting.report) : counts(sitting.report);
}

std::string third_line(const Sitting& sitting) {
  const PortraitOptions& options = sitting.options;
  std::string text = options.title.empty() ? "" : options.title + " · ";
  text += file_name(sitting.report.capture.path);
  text += fmt::format(" · {} · {}", sitting.side.format, seen(options.view));
  if (!options.date.empty()) text += " · " + options.date;
  return text;
}

}  // namespace

void draw_head(Sitting& sitting) {
  Canvas& canvas = sitting.canvas;
  const Palette& colours = sitting.colours;
  const Standing stands = standing(sitting.report);
  draw_standing(canvas, stands, {48.0, 44.0}, 17.0, colours);
  canvas.text(std::string{word(stands)},
              {78.0, 24.0},
              {.size = 32.0, .colour = standing_colour(stands, colours), .bold = true});
  canvas.text(second_line(sitting, stands),
              {30.0, 71.0},
              {.size = 17.0, .colour = colours.ink, .ellipsis_width = page_width - 60.0});
  canvas.text(third_line(sitting),
              {30.0, 97.0},
              {.size = 14.0, .colour = colours.quiet_ink, .ellipsis_width = page_width - 60.0});
}

}  // namespace goodside::draw
