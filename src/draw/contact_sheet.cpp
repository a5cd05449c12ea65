#include "draw/contact_sheet.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <unordered_map>

#include "draw/disc_shape.hpp"
#include "draw/disc_view.hpp"
#include "draw/marks.hpp"
#include "draw/place_heard.hpp"

namespace goodside::draw {
namespace {

constexpr double top = 112.0, foot = 800.0, label_width = 132.0, name_height = 19.0;
constexpr double least_cell = 70.0, row_gap = 5.0, group_gap = 10.0;
constexpr std::array<double, 6> sizes{150.0, 116.0, 92.0, 72.0, 56.0, 44.0};
constexpr std::size_t most_discs = 4000;
constexpr double turn = 2.0 * std::numbers::pi;

struct Disc {
  const works::FamilyDisc* disc{};
  std::vector<const works::HeardPlay*> plays{};
  PlaceHeard heard{};
};

struct Group {
  std::string stamper{};
  std::vector<Disc> discs{};
};

double middle(const works::FamilyDisc& disc) {
  return disc.impression ? 0.5 * static_cast<double>(disc.impression->first + disc.impression->last)
                         : HUGE_VAL;
}

std::vector<Group> groups_of(const works::Family& family,
                             const works::RecurringFault& fault,
                             std::span<const works::HeardPlay> plays) {
  const auto heard = place_heard(family, fault, plays);
  std::unordered_map<std::string_view, std::vector<const works::HeardPlay*>> of_disc;
  for (const auto& play : plays)
    if (play.side == fault.side) of_disc[play.disc].push_back(&play);
  std::map<std::string, Group> groups;
  for (std::size_t i = 0; i < family.discs.size(); ++i) {
    const auto& disc = family.discs[i];
    const auto played = of_disc.find(disc.id);
    if (played == of_disc.end()) continue;
    groups[disc.stamper_of(fault.side)].discs.push_back({&disc, played->second, heard[i]});
  }
  std::vector<Group> result;
  for (auto& [stamper, group] : groups) {
    group.stamper = stamper;
    std::ranges::stable_sort(group.discs, [](const Disc& a, const Disc& b) {
      return middle(*a.disc) < middle(*b.disc);
    });
    result.push_back(std::move(group));
  }
  return result;
}

/// The smallest usual disc that holds every fault, programme running from its edge to its label.
works::SideGeometry geometry_of(const std::vector<Group>& groups) {
  double outermost_m = 0.0;
  for (const auto& group : groups)
    for (const auto& disc : group.discs)
      for (const auto* play : disc.plays)
        for (const auto& fault : play->faults)
          if (std::isfinite(fault.radius_m))
            outermost_m = std::max(outermost_m, static_cast<double>(fault.radius_m));
  works::SideGeometry side{.format = "custom",
                           .rpm = groups.front().discs.front().plays.front()->rpm};
  side.outer_radius_m = outermost_m == 0.0 || outermost_m > 0.121 ? 0.1463
                        : outermost_m > 0.0845                    ? 0.1205
                                                                  : 0.084;
  side.inner_radius_m = 0.06;
  return side;
}

/// Where the portraits stand.
struct Layout {
  double size{}, cell{};
  std::size_t columns{};
  double row() const { return size + name_height + row_gap; }
};

double height_of(const std::vector<Group>& groups, const Layout& layout) {
  double height = 0.0;
  for (const auto& group : groups) {
    const std::size_t rows = (group.discs.size() + layout.columns - 1) / layout.columns;
    height += static_cast<double>(rows) * layout.row() + group_gap;
  }
  return height;
}

Layout layout_of(const std::vector<Group>& groups) {
  Layout layout;
  for (const double size : sizes) {
    layout.size = size;
    layout.cell = std::max(size + 8.0, least_cell);
    layout.columns = static_cast<std::size_t>(
        (trace_width - trace_margin - trace_margin - label_width) / layout.cell);
    if (height_of(groups, layout) <= foot - top) break;
  }
  return layout;
}

class Drawing {
 public:
  Drawing(Canvas& canvas,
          const works::RecurringFault& fault,
          const works::SideGeometry& side,
          const Layout& layout,
          const TracePictureOptions& options)
      : canvas_{canvas},
        fault_{fault},
        side_{side},
        shape_{disc_shape(side)},
        layout_{layout},
        options_{options},
        colours_{palette_of(options)} {}

  /// `height`: of one sheet. Returns where the texts stand, a list a sheet.
  std::vector<std::vector<PlacedText>> draw(const std::vector<Group>& groups, double height) {
    begin_sheet(height);
    double y = top;
    for (const auto& group : groups) {
      for (std::size_t i = 0; i < group.discs.size(); i += layout_.columns) {
        if (y + layout_.row() > height - 40.0 && options_.format == PictureFormat::pdf && y > top) {
          sheets_.push_back(canvas_.texts());
          canvas_.next_sheet();
          begin_sheet(height);
          y = top;
        }
        if (i == 0 || y == top) label(group, y);
        const std::size_t end = std::min(i + layout_.columns, group.discs.size());
        for (std::size_t j = i; j < end; ++j)
          disc(group.discs[j],
               {trace_margin + label_width + layout_.cell * (static_cast<double>(j - i) + 0.5), y});
        y += layout_.row();
      }
      y += group_gap;
      line(y - group_gap + 2.0);
    }
    sheets_.push_back(canvas_.texts());
    return std::move(sheets_);
  }

 private:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }

  void begin_sheet(double height) {
    draw_trace_head(canvas_, fault_, options_);
    const double y = height - 32.0;
    const double end = draw_heard_key(canvas_, {trace_margin, y}, colours_);
    canvas_.text(
        "triangle on a disc: the fault; dots: its other faults; grey band: groove not heard; "
        "below: impression",
        {end, y},
        {.size = 13.0, .colour = colours_.ink, .ellipsis_width = trace_width - trace_margin - end});
  }

  void line(double y) {
    canvas_.ink(colours_.line);
    cairo_new_path(pen());
    cairo_rectangle(pen(), trace_margin, y, trace_width - 2.0 * trace_margin, 1.0);
    cairo_fill(pen());
  }

  void label(const Group& group, double y) {
    int faulty = 0, heard = 0;
    for (const auto& one : group.discs) {
      faulty += one.heard == PlaceHeard::fault;
      heard += one.heard != PlaceHeard::not_heard;
    }
    canvas_.text(
        group.stamper.empty() ? "not known" : group.stamper,
        {trace_margin, y + 4.0},
        {.size = 15.0, .colour = colours_.ink, .bold = true, .ellipsis_width = label_width - 12.0});
    canvas_.text(fmt::format("{} of {}", faulty, heard),
                 {trace_margin, y + 24.0},
                 {.size = 14.0, .colour = colours_.quiet_ink});
  }

  void circle(Point at, double radius) {
    cairo_new_path(pen());
    cairo_arc(pen(), at.x, at.y, radius, 0.0, turn);
  }

  void annulus(Point at, double outer, double inner) {
    cairo_new_path(pen());
    cairo_arc(pen(), at.x, at.y, outer, 0.0, turn);
    cairo_new_sub_path(pen());
    cairo_arc_negative(pen(), at.x, at.y, inner, turn, 0.0);
    cairo_fill(pen());
  }

  [[nodiscard]] double radius_at(double share) const {
    return side_.outer_radius_m +
           (side_.inner_radius_m - side_.outer_radius_m) * std::clamp(share, 0.0, 1.0);
  }

  void body(const Disc& one, const DiscView& view) {
    const double edge = 0.5 * layout_.size;
    circle(view.centre, edge);
    canvas_.ink(colours_.line);
    cairo_fill_preserve(pen());
    canvas_.ink(colours_.quiet_ink);
    cairo_set_line_width(pen(), 1.0);
    cairo_stroke(pen());
    canvas_.ink(colours_.raised);
    for (const auto* play : one.plays) {
      if (play->heard.empty() || !(play->length_s > 0.0))
        annulus(view.centre,
                side_.outer_radius_m * view.units_per_m,
                side_.inner_radius_m * view.units_per_m);
      else
        for (const auto& part : play->heard)
          annulus(view.centre,
                  radius_at(part.from_s / play->length_s) * view.units_per_m,
                  radius_at(part.to_s / play->length_s) * view.units_per_m);
    }
    circle(view.centre, shape_.label_radius_m * view.units_per_m);
    canvas_.ink(colours_.ground);
    cairo_fill_preserve(pen());
    canvas_.ink(colours_.quiet_ink);
    cairo_set_line_width(pen(), 0.7);
    cairo_stroke(pen());
  }

  void dots(const Disc& one, const DiscView& view) {
    const double size = std::clamp(layout_.size / 40.0, 1.5, 2.4);
    canvas_.ink(colours_.ink);
    for (const auto* play : one.plays)
      for (const auto& fault : play->faults) {
        if (!std::isfinite(fault.radius_m) || !std::isfinite(fault.angle_deg) ||
            fault.audibility == works::Audibility::masked)
          continue;
        const Point at =
            view.place(static_cast<double>(fault.radius_m), static_cast<double>(fault.angle_deg));
        circle(at, size);
        cairo_fill(pen());
      }
  }

  void disc(const Disc& one, Point cell) {
    const DiscView view{.view = View::disc,
                        .centre = {cell.x, cell.y + 0.5 * layout_.size},
                        .units_per_m = 0.5 * layout_.size / shape_.edge_radius_m,
                        .landmark_angle_deg = 0.0};
    body(one, view);
    dots(one, view);
    if (one.heard == PlaceHeard::fault && fault_.radius_m && fault_.angle_deg) {
      const Point at = view.place(*fault_.radius_m, *fault_.angle_deg);
      const double size = std::clamp(layout_.size / 11.0, 4.5, 8.0);
      canvas_.ink(colours_.raised);
      circle(at, size + 1.0);
      cairo_fill(pen());
      draw_standing(canvas_, Standing::out, at, size, colours_);
    }
    name(one, {cell.x, cell.y + layout_.size + 1.0});
  }

  void name(const Disc& one, Point at) {
    const auto& impression = one.disc->impression;
    const std::string text = !impression ? one.disc->id
                             : impression->first == impression->last
                                 ? std::to_string(impression->first)
                                 : fmt::format("≈{:.0f}", middle(*one.disc));
    const TextStyle style{.size = 13.0,
                          .colour = one.heard == PlaceHeard::fault ? colours_.out : colours_.ink,
                          .bold = one.heard == PlaceHeard::fault};
    constexpr double beside = 13.0;
    TextStyle cut = style;
    Box box = canvas_.measure(text, at, style, Align::centre);
    if (box.width > layout_.cell - beside - 4.0) {
      cut.ellipsis_width = layout_.cell - beside - 4.0;
      box = canvas_.measure(text, at, cut);
      box.x = at.x - 0.5 * box.width;
    }
    box.x += 0.5 * beside;
    draw_standing(canvas_, shape(one.heard), {box.x - 7.0, at.y + 8.5}, 4.0, colours_);
    canvas_.text(text, {box.x, at.y}, cut);
  }

  Canvas& canvas_;
  const works::RecurringFault& fault_;
  const works::SideGeometry& side_;
  DiscShape shape_;
  const Layout& layout_;
  const TracePictureOptions& options_;
  const Palette& colours_;
  std::vector<std::vector<PlacedText>> sheets_{};
};

/// The page and what is on it.
struct Sheet {
  std::vector<std::vector<PlacedText>> texts;
  Result<std::string> bytes;
};

Result<Sheet> draw(const works::Family& family,
                   const works::RecurringFault& fault,
                   std::span<const works::HeardPlay> plays,
                   const TracePictureOptions& options) {
  if (const auto checked = check_trace_picture(options); !checked) return checked.error();
  const auto groups = groups_of(family, fault, plays);
  std::size_t count = 0;
  for (const auto& group : groups) count += group.discs.size();
  if (count == 0)
    return Error{Fault::bad_input, "no disc was heard on that side, so there are no portraits"};
  if (count > most_discs)
    return Error{Fault::bad_input,
                 fmt::format("{} discs were heard; a contact sheet holds {}", count, most_discs)};
  const auto side = geometry_of(groups);
  const Layout layout = layout_of(groups);
  const double height = options.format == PictureFormat::pdf
                            ? trace_height
                            : std::max(trace_height, top + height_of(groups, layout) + 48.0);
  Canvas canvas = trace_page(options, height);
  Drawing drawing{canvas, fault, side, layout, options};
  auto texts = drawing.draw(groups, height);
  return Sheet{.texts = std::move(texts), .bytes = canvas.finish()};
}

}  // namespace

Result<std::string> contact_sheet(const works::Family& family,
                                  const works::RecurringFault& fault,
                                  std::span<const works::HeardPlay> plays,
                                  const TracePictureOptions& options) {
  const auto sheet = draw(family, fault, plays, options);
  return sheet ? sheet->bytes : Result<std::string>{sheet.error()};
}

Result<std::vector<std::vector<PlacedText>>> contact_sheet_texts(
    const works::Family& family,
    const works::RecurringFault& fault,
    std::span<const works::HeardPlay> plays,
    const TracePictureOptions& options) {
  auto sheet = draw(family, fault, plays, options);
  if (!sheet) return sheet.error();
  return std::move(sheet->texts);
}

}  // namespace goodside::draw
