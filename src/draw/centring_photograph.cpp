#include "draw/centring_photograph.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <memory>
#include <numbers>
#include <vector>

#include "draw/marks.hpp"

namespace goodside::draw {
namespace {

using works::CentringReport;
using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;

constexpr double um = 1e6;
constexpr double pi = std::numbers::pi;
constexpr Box whole_box{30.0, 92.0, 640.0, 520.0}, near_box{700.0, 92.0, 458.0, 458.0};
constexpr int most_shown_px = 2000;

/// The photograph as cairo takes it, made smaller where it is larger than anybody sees: a mean of each block.
struct Shown {
  std::vector<unsigned char> bytes;
  int width{}, height{}, stride{}, block{1};
};
Shown shown(const works::GreyPicture& picture) {
  Shown out;
  out.block = std::max(1, std::max(picture.width_px, picture.height_px) / most_shown_px);
  out.width = picture.width_px / out.block;
  out.height = picture.height_px / out.block;
  out.stride = cairo_format_stride_for_width(CAIRO_FORMAT_RGB24, out.width);
  out.bytes.assign(static_cast<std::size_t>(out.stride) * static_cast<std::size_t>(out.height), 0);
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      unsigned sum = 0;
      for (int dy = 0; dy < out.block; ++dy)
        for (int dx = 0; dx < out.block; ++dx)
          sum += picture.grey[static_cast<std::size_t>(y * out.block + dy) *
                                  static_cast<std::size_t>(picture.width_px) +
                              static_cast<std::size_t>(x * out.block + dx)];
      const std::uint32_t grey = sum / static_cast<unsigned>(out.block * out.block);
      const std::uint32_t pixel = (grey << 16) | (grey << 8) | grey;
      std::memcpy(&out.bytes[static_cast<std::size_t>(y) * static_cast<std::size_t>(out.stride) +
                             static_cast<std::size_t>(x) * 4],
                  &pixel,
                  4);
    }
  return out;
}

class Drawing {
 public:
  Drawing(Canvas& canvas,
          const CentringReport& report,
          const works::GreyPicture& picture,
          const PlotOptions& options)
      : canvas_{canvas},
        report_{report},
        photo_{*report.photograph},
        options_{options},
        colours_{options.dark ? dark_palette : light_palette},
        shown_{shown(picture)} {}

  void draw() {
    head();
    const double scale =
        std::min(whole_box.width / photo_.width_px, whole_box.height / photo_.height_px);
    panel(whole_box, scale, 0.5 * photo_.width_px, 0.5 * photo_.height_px);
    const auto& hole = photo_.circles.front();
    const double radius =
        std::hypot(hole.outline_px[0] - hole.centre_x_px, hole.outline_px[1] - hole.centre_y_px);
    panel(near_box, 0.36 * near_box.width / radius, hole.centre_x_px, hole.centre_y_px);
    arrow(near_box);
    canvas_.text("found on the photograph: hole and groove circles",
                 {whole_box.x, whole_box.y + whole_box.height + 6.0},
                 {.size = 14.0, .colour = colours_.quiet_ink});
  }

 private:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }
  void head() {
    const bool within = report_.standing == works::CentringStanding::within;
    const bool outside = report_.standing == works::CentringStanding::outside;
    draw_standing(canvas_,
                  within    ? Standing::good
                  : outside ? Standing::out
                            : Standing::unjudged,
                  {44.0, 35.0},
                  11.0,
                  colours_);
    canvas_.text(fmt::format("{:.0f} µm off centre, {}",
                             report_.length_m * um,
                             within    ? "within the limit"
                             : outside ? "outside the limit"
                                       : "not decided"),
                 {66.0, 18.0},
                 {.size = 26.0, .colour = colours_.ink, .bold = true});
    canvas_.text(
        fmt::format("{}{}move the plate {:.0f} µm towards {:.0f}° (x {:+.0f}, y {:+.0f} µm), good "
                    "to {:.0f} µm",
                    options_.title,
                    options_.title.empty() ? "" : " · ",
                    report_.move_m * um,
                    report_.move_towards_deg,
                    report_.move_x_m * um,
                    report_.move_y_m * um,
                    report_.offset.region ? report_.offset.region->half_major_m * um : 0.0),
        {30.0, 56.0},
        {.size = 16.0, .colour = colours_.ink, .ellipsis_width = plot_width - 60.0});
  }

  /// The photograph about a pixel, clipped to the box, with the outlines over it.
  void panel(const Box& box, double scale, double x_px, double y_px) {
    cairo_save(pen());
    cairo_new_path(pen());
    cairo_rectangle(pen(), box.x, box.y, box.width, box.height);
    cairo_clip(pen());
    cairo_translate(pen(), box.x + 0.5 * box.width, box.y + 0.5 * box.height);
    cairo_scale(pen(), scale, scale);
    cairo_translate(pen(), -x_px, -y_px);
    cairo_save(pen());
    cairo_translate(pen(), -0.5, -0.5);
    cairo_scale(pen(), shown_.block, shown_.block);
    const Surface picture{
        cairo_image_surface_create_for_data(
            shown_.bytes.data(), CAIRO_FORMAT_RGB24, shown_.width, shown_.height, shown_.stride),
        &cairo_surface_destroy};
    cairo_set_source_surface(pen(), picture.get(), 0.0, 0.0);
    cairo_paint(pen());
    cairo_restore(pen());
    for (const auto& circle : photo_.circles) {
      cairo_new_path(pen());
      for (std::size_t i = 0; i + 1 < circle.outline_px.size(); i += 2)
        cairo_line_to(pen(), circle.outline_px[i], circle.outline_px[i + 1]);
      cairo_close_path(pen());
      // Paper under the colour, so that the line reads on dark and on light.
      for (const bool under : {true, false}) {
        canvas_.ink(under                   ? light_palette.ground
                    : circle.name == "hole" ? light_palette.good
                                            : light_palette.out);
        cairo_set_line_width(pen(), (under ? 4.2 : 2.0) / scale);
        cairo_stroke_preserve(pen());
      }
      cairo_new_path(pen());
    }
    cairo_restore(pen());
  }

  void arrow(const Box& box) {
    const Point middle{box.x + 0.5 * box.width, box.y + 0.5 * box.height};
    const double length = std::max(report_.length_m, 1e-9);
    const double drawn = 0.30 * box.width;
    const double times = drawn / (length * photo_.scale_px_per_m * scale_of(box));
    const Point tip{middle.x + drawn * report_.offset.x_m / length,
                    middle.y - drawn * report_.offset.y_m / length};
    for (const bool under : {true, false}) {
      canvas_.ink(under ? light_palette.ground : light_palette.out);
      cairo_set_line_width(pen(), under ? 7.0 : 3.4);
      draw_arrow(canvas_, middle, tip, 14.0);
    }
    canvas_.text(fmt::format("the hole enlarged; the arrow points to the groove's centre, {:.0f} "
                             "µm off, drawn {:.0f} times as long",
                             report_.length_m * um,
                             times),
                 {box.x, box.y + box.height + 6.0},
                 {.size = 14.0, .colour = colours_.quiet_ink, .wrap_width = box.width});
  }
  [[nodiscard]] double scale_of(const Box& box) const {
    const auto& hole = photo_.circles.front();
    return 0.36 * box.width /
           std::hypot(hole.outline_px[0] - hole.centre_x_px, hole.outline_px[1] - hole.centre_y_px);
  }

  Canvas& canvas_;
  const CentringReport& report_;
  const works::PhotographFound& photo_;
  const PlotOptions& options_;
  const Palette& colours_;
  Shown shown_;
};

}  // namespace

Result<std::string> centring_photograph(const CentringReport& report,
                                        const works::GreyPicture& picture,
                                        const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  if (!report.photograph || report.photograph->circles.empty() || picture.grey.empty())
    return Error{Fault::bad_input, "there is no photograph to draw over"};
  Canvas canvas = plot_page(options);
  Drawing{canvas, report, picture, options}.draw();
  return canvas.finish();
}

}  // namespace goodside::draw
