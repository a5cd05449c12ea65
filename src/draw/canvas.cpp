#include "draw/canvas.hpp"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <fmt/format.h>
#include <pango/pangocairo.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>

#include "base/expects.hpp"

namespace goodside::draw {
namespace {

constexpr double points_per_mm = 72.0 / 25.4, dots_per_mm = 300.0 / 25.4;
// Depends on fonts-dejavu-core; its figures are all of one width.
constexpr const char* font_family = "DejaVu Sans, sans-serif";

cairo_status_t append(void* into, const unsigned char* bytes, unsigned int count) {
  static_cast<std::string*>(into)->append(bytes, bytes + count);
  return CAIRO_STATUS_SUCCESS;
}

/// cairo numbers the groups of an SVG by all surfaces the process ever made; here they count
/// from 1.
std::string with_own_numbers(const std::string& svg) {
  constexpr std::string_view name = "surface";
  std::map<std::string, std::size_t> numbers;
  std::string text;
  std::size_t done = 0;
  for (std::size_t at = svg.find(name); at != std::string::npos; at = svg.find(name, done)) {
    const std::size_t first = at + name.size();
    const std::size_t end = std::min(svg.find_first_not_of("0123456789", first), svg.size());
    text.append(svg, done, first - done);
    if (end > first) {
      const auto known = numbers.try_emplace(svg.substr(first, end - first), numbers.size() + 1);
      text += std::to_string(known.first->second);
    }
    done = end;
  }
  return text.append(svg, done);
}

struct Unref {
  void operator()(PangoLayout* layout) const { g_object_unref(layout); }
  void operator()(PangoFontDescription* font) const { pango_font_description_free(font); }
};
using Layout = std::unique_ptr<PangoLayout, Unref>;

/// One font resolution whatever the machine's screen is set to, unhinted: text then scales with the
/// page.
void settle_rendering(PangoLayout* layout, bool in_mm) {
  PangoContext* context = pango_layout_get_context(layout);
  // Glyphs stand on whole units otherwise, which are millimetres there.
  if (in_mm) pango_context_set_round_glyph_positions(context, FALSE);
  pango_cairo_context_set_resolution(context, 96.0);
  cairo_font_options_t* options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context, options);
  cairo_font_options_destroy(options);
  pango_layout_context_changed(layout);
}

Layout lay_out(cairo_t* pen, bool in_mm, const std::string& text, const TextStyle& style) {
  Layout layout{pango_cairo_create_layout(pen)};
  settle_rendering(layout.get(), in_mm);
  const std::unique_ptr<PangoFontDescription, Unref> font{
      pango_font_description_from_string(font_family)};
  pango_font_description_set_absolute_size(font.get(), style.size * PANGO_SCALE);
  if (style.bold) pango_font_description_set_weight(font.get(), PANGO_WEIGHT_BOLD);
  pango_layout_set_font_description(layout.get(), font.get());
  if (style.wrap_width > 0.0) {
    pango_layout_set_width(layout.get(), static_cast<int>(style.wrap_width * PANGO_SCALE));
    pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
    if (style.centred) pango_layout_set_alignment(layout.get(), PANGO_ALIGN_CENTER);
    if (style.most_lines > 0) {
      pango_layout_set_height(layout.get(), -style.most_lines);
      pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_END);
    }
  }
  if (style.ellipsis_width > 0.0) {
    pango_layout_set_width(layout.get(), static_cast<int>(style.ellipsis_width * PANGO_SCALE));
    pango_layout_set_single_paragraph_mode(layout.get(), TRUE);
    pango_layout_set_ellipsize(layout.get(), PANGO_ELLIPSIZE_MIDDLE);
  }
  pango_layout_set_text(layout.get(), text.data(), static_cast<int>(text.size()));
  return layout;
}

}  // namespace

struct Canvas::Page {
  PictureFormat format{};
  std::string bytes;
  bool in_mm{};
  Colour ground;
  cairo_surface_t* surface{};
  cairo_t* pen{};
};

Canvas::Canvas(PictureFormat format, double width, double height, double scale, Colour ground)
    : page_{std::make_unique<Page>()} {
  page_->format = format;
  open(width, height, scale, ground);
}

Canvas::Canvas(PictureFormat format, const Paper& paper) : page_{std::make_unique<Page>()} {
  page_->format = format;
  page_->in_mm = true;
  const double scale = format == PictureFormat::pdf   ? points_per_mm
                       : format == PictureFormat::png ? dots_per_mm
                                                      : 1.0;
  open(paper.width_mm, paper.height_mm, scale, colour(0xFFFFFF));
}

void Canvas::open(double width, double height, double scale, Colour ground) {
  Page& page = *page_;
  page.ground = ground;
  const double x = width * scale, y = height * scale;
  switch (page.format) {
    case PictureFormat::png:
      page.surface = cairo_image_surface_create(
          CAIRO_FORMAT_RGB24, static_cast<int>(std::lround(x)), static_cast<int>(std::lround(y)));
      break;
    case PictureFormat::svg:
      page.surface = cairo_svg_surface_create_for_stream(append, &page.bytes, x, y);
      if (page.in_mm) cairo_svg_surface_set_document_unit(page.surface, CAIRO_SVG_UNIT_MM);
      break;
    case PictureFormat::pdf:
      page.surface = cairo_pdf_surface_create_for_stream(append, &page.bytes, x, y);
      // cairo would write the clock's time here; one fixed day keeps the bytes equal.
      cairo_pdf_surface_set_metadata(
          page.surface, CAIRO_PDF_METADATA_CREATE_DATE, "2000-01-01T00:00:00Z");
      break;
  }
  page.pen = cairo_create(page.surface);
  cairo_scale(page.pen, scale, scale);
  ink(ground);
  cairo_paint(page.pen);
}

void Canvas::next_sheet() {
  EXPECTS(page_->format == PictureFormat::pdf);
  cairo_show_page(page_->pen);
  ink(page_->ground);
  cairo_paint(page_->pen);
  texts_.clear();
}

Canvas::~Canvas() {
  cairo_destroy(page_->pen);
  cairo_surface_destroy(page_->surface);
}

cairo_t* Canvas::pen() const {
  return page_->pen;
}

void Canvas::ink(Colour c, double opacity) const {
  cairo_set_source_rgba(page_->pen, c.red, c.green, c.blue, opacity);
}

Box Canvas::measure(const std::string& text, Point at, const TextStyle& style, Align align) const {
  PangoRectangle filled{};
  pango_layout_get_extents(lay_out(page_->pen, page_->in_mm, text, style).get(), nullptr, &filled);
  Box box{at.x,
          at.y,
          static_cast<double>(filled.width) / PANGO_SCALE,
          static_cast<double>(filled.height) / PANGO_SCALE};
  if (style.centred) box.x += static_cast<double>(filled.x) / PANGO_SCALE;
  if (align == Align::centre) box.x -= box.width / 2.0;
  if (align == Align::right) box.x -= box.width;
  return box;
}

Box Canvas::text(const std::string& text, Point at, const TextStyle& style, Align align) {
  const Box box = measure(text, at, style, align);
  ink(style.colour);
  cairo_move_to(page_->pen, style.centred ? at.x : box.x, box.y);
  pango_cairo_show_layout(page_->pen, lay_out(page_->pen, page_->in_mm, text, style).get());
  cairo_new_path(page_->pen);
  texts_.push_back({text, box});
  return box;
}

int Canvas::letters_without_font(const std::string& text) const {
  return pango_layout_get_unknown_glyphs_count(
      lay_out(page_->pen, page_->in_mm, text, {.size = 4.0}).get());
}

bool Canvas::is_free(const Box& box) const {
  return std::none_of(texts_.begin(), texts_.end(), [&](const PlacedText& placed) {
    return placed.box.meets(box);
  });
}

Result<std::string> Canvas::finish() {
  Page& page = *page_;
  cairo_show_page(page.pen);
  cairo_status_t status = cairo_status(page.pen);
  if (status == CAIRO_STATUS_SUCCESS && page.format == PictureFormat::png)
    status = cairo_surface_write_to_png_stream(page.surface, append, &page.bytes);
  cairo_surface_finish(page.surface);
  if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(page.surface);
  if (status != CAIRO_STATUS_SUCCESS)
    return Error{Fault::io,
                 fmt::format("the picture could not be drawn ({}); try a smaller size",
                             cairo_status_to_string(status))};
  if (page.format == PictureFormat::svg) return with_own_numbers(page.bytes);
  return std::move(page.bytes);
}

}  // namespace goodside::draw
