#include "draw/portrait.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "draw/portrait_parts.hpp"
#include "draw/words.hpp"

namespace goodside::draw {
namespace {

constexpr double a4_width_pt = 841.89;

double programme_length_s(const works::ListeningReport& report) {
  double length_s = report.reference ? report.reference->file.duration_s : 0.0;
  for (const auto& part : report.heard) length_s = std::max(length_s, part.to_s);
  return length_s;
}

works::SideGeometry with_pitch(const works::ListeningReport& report) {
  works::SideGeometry side = report.geometry;
  const double turns = programme_length_s(report) * side.rpm / 60.0;
  if (!(side.pitch_m > 0.0) && turns > 0.0)
    side.pitch_m = (side.outer_radius_m - side.inner_radius_m) / turns;
  return side;
}

/// Ends that leave out the loudest and the quietest fiftieth of the cells.
std::optional<AmountScale> noise_scale(const works::ListeningReport& report) {
  if (!report.noise.polar) return std::nullopt;
  std::vector<double> known;
  for (const auto& cell : report.noise.polar->dB)
    if (cell && std::isfinite(*cell)) known.push_back(*cell);
  if (known.empty()) return std::nullopt;
  std::sort(known.begin(), known.end());
  const std::size_t edge = known.size() / 50;
  const double least = known[edge], most = known[known.size() - 1 - edge];
  const double spare = std::max(0.0, 6.0 - (most - least)) / 2.0;
  return round_scale(least - spare, most + spare);
}

/// The largest round enlargement that keeps arrow and ring inside the label.
double offset_magnification(const works::ListeningReport& report, const DiscShape& shape) {
  const auto& wow = report.wow;
  if (!wow.eccentricity_m || !wow.eccentricity_direction_deg) return 0.0;
  const double reach_m = *wow.eccentricity_m + 2.0 * wow.eccentricity_sigma_m.value_or(0.0);
  if (!(reach_m > 0.0)) return 0.0;
  const double most = std::min(shape.label_radius_m * 0.8 / reach_m, 1000.0);
  const double power = std::pow(10.0, std::floor(std::log10(most)));
  for (const double factor : {5.0, 2.0, 1.0})
    if (factor * power <= most) return factor * power;
  return power;
}

void draw(Canvas& canvas, const works::ListeningReport& report, const PortraitOptions& options) {
  const DiscShape shape = disc_shape(report.geometry);
  Sitting sitting{.canvas = canvas,
                  .report = report,
                  .options = options,
                  .colours = options.dark ? dark_palette : light_palette,
                  .side = with_pitch(report),
                  .shape = shape,
                  .view = {.view = options.view,
                           .centre = disc_centre,
                           .units_per_m = disc_radius / shape.edge_radius_m,
                           .landmark_angle_deg = options.landmark_angle_deg},
                  .worst = worst_first(report.faults),
                  .noise_scale = noise_scale(report),
                  .offset_magnification = offset_magnification(report, shape)};
  draw_head(sitting);
  draw_disc(sitting);
  draw_notes(sitting);
}

double scale_of(const PortraitOptions& options) {
  return (options.format == PictureFormat::png ? options.width_px : a4_width_pt) / page_width;
}

}  // namespace

Outcome check_portrait(const works::ListeningReport& report, const PortraitOptions& options) {
  const auto refuse = [](Fault fault, std::string text) { return Error{fault, std::move(text)}; };
  if (options.width_px < 400 || options.width_px > 8000)
    return refuse(Fault::out_of_range,
                  fmt::format("picture width {} px; use 400 to 8000", options.width_px));
  if (!(options.shrinkage >= 0.0 && options.shrinkage < 0.05))
    return refuse(Fault::out_of_range,
                  fmt::format("shrinkage {}; use a fraction from 0 to 0.05", options.shrinkage));
  if (!std::isfinite(options.landmark_angle_deg))
    return refuse(Fault::out_of_range, "landmark angle is not a number; give degrees");
  const auto& side = report.geometry;
  const bool band = side.inner_radius_m > 0.005 && side.outer_radius_m > side.inner_radius_m &&
                    side.outer_radius_m < 0.5;
  if (!band || !(side.rpm > 0.0))
    return refuse(
        Fault::bad_input,
        fmt::format("the report's band runs from radius {} m to {} m at {} rpm, which cannot "
                    "be drawn; give --format or the radii",
                    side.outer_radius_m,
                    side.inner_radius_m,
                    side.rpm));
  return Done{};
}

Result<std::string> portrait(const works::ListeningReport& report, const PortraitOptions& options) {
  if (const auto checked = check_portrait(report, options); !checked) return checked.error();
  const Palette& colours = options.dark ? dark_palette : light_palette;
  Canvas canvas{options.format, page_width, page_height, scale_of(options), colours.ground};
  draw(canvas, report, options);
  return canvas.finish();
}

Result<std::vector<PlacedText>> portrait_texts(const works::ListeningReport& report,
                                               const PortraitOptions& options) {
  if (const auto checked = check_portrait(report, options); !checked) return checked.error();
  Canvas canvas{options.format, page_width, page_height, scale_of(options), Colour{}};
  draw(canvas, report, options);
  return canvas.texts();
}

}  // namespace goodside::draw
