#include "draw/trace_page.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include "draw/marks.hpp"
#include "draw/place_heard.hpp"
#include "draw/trace_words.hpp"

namespace goodside::draw {
namespace {

constexpr double a4_width_pt = 841.89;

}  // namespace

Result<std::string> finished(Canvas& canvas) {
  return canvas.finish();
}

Result<std::vector<PlacedText>> placed_texts(Canvas& canvas) {
  return canvas.texts();
}

Outcome check_trace_picture(const TracePictureOptions& options) {
  if (options.width_px >= 400 && options.width_px <= 8000) return Done{};
  return Error{Fault::out_of_range,
               fmt::format("picture width {} px; use 400 to 8000", options.width_px)};
}

const Palette& palette_of(const TracePictureOptions& options) {
  return options.dark ? dark_palette : light_palette;
}

Canvas trace_page(const TracePictureOptions& options, double height) {
  const double scale =
      (options.format == PictureFormat::png ? options.width_px : a4_width_pt) / trace_width;
  return {options.format, trace_width, height, scale, palette_of(options).ground};
}

void draw_trace_head(Canvas& canvas,
                     const std::string& title,
                     const std::string& below,
                     const TracePictureOptions& options) {
  const Palette& colours = palette_of(options);
  const double width = trace_width - 2.0 * trace_margin;
  canvas.text(title,
              {trace_margin, 18.0},
              {.size = 26.0, .colour = colours.ink, .bold = true, .ellipsis_width = width});
  std::string whose = options.title;
  for (const std::string& part : {options.date, below})
    if (!part.empty()) whose += (whose.empty() ? "" : " · ") + part;
  canvas.text(whose,
              {trace_margin, 52.0},
              {.size = 15.0, .colour = colours.quiet_ink, .ellipsis_width = width});
}

void draw_trace_head(Canvas& canvas,
                     const works::RecurringFault& fault,
                     const TracePictureOptions& options) {
  std::string below = since(fault.cause);
  below += fmt::format(
      "{}heard on {} of {} discs", below.empty() ? "" : ", ", fault.on.size(), fault.heard);
  if (fault.suspect.discs > 0) below += fmt::format(", {} suspect", fault.suspect.discs);
  draw_trace_head(
      canvas,
      fmt::format(
          "{}: {}, {}", fault_name(fault), named(fault.cause), percent(fault.cause.posterior)),
      below,
      options);
  if (!fault.action.text.empty())
    canvas.text("Do: " + fault.action.text,
                {trace_margin, 72.0},
                {.size = 15.0,
                 .colour = palette_of(options).ink,
                 .bold = true,
                 .ellipsis_width = trace_width - 2.0 * trace_margin});
}

double draw_heard_key(Canvas& canvas, Point at, const Palette& colours) {
  struct Entry {
    PlaceHeard heard;
    const char* text;
  };
  double x = at.x;
  for (const auto& [heard, text] : {Entry{PlaceHeard::fault, "fault heard"},
                                    Entry{PlaceHeard::clean, "heard, no fault"},
                                    Entry{PlaceHeard::not_heard, "not heard there"}}) {
    draw_standing(canvas, shape(heard), {x + 7.0, at.y + 9.0}, 6.0, colours);
    const Box box = canvas.text(text, {x + 19.0, at.y}, {.size = 14.0, .colour = colours.ink});
    x = box.x + box.width + 22.0;
  }
  return x;
}

void draw_suspect_hatch(Canvas& canvas, const Box& box, const Palette& colours) {
  cairo_t* pen = canvas.pen();
  cairo_save(pen);
  cairo_new_path(pen);
  cairo_rectangle(pen, box.x, box.y, box.width, box.height);
  canvas.ink(colours.ink);
  cairo_set_line_width(pen, 1.0);
  cairo_stroke_preserve(pen);
  cairo_clip(pen);
  cairo_new_path(pen);
  for (double x = box.x - box.height; x < box.x + box.width; x += 6.0) {
    cairo_move_to(pen, x, box.y + box.height);
    cairo_line_to(pen, x + box.height, box.y);
  }
  cairo_stroke(pen);
  cairo_restore(pen);
}

}  // namespace goodside::draw
