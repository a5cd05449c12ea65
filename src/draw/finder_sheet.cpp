#include "draw/finder_sheet.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "draw/portrait.hpp"
#include "draw/words.hpp"

namespace goodside::draw {
namespace {

constexpr double turn = 2.0 * std::numbers::pi;
constexpr double mm_per_m = 1000.0;

// The sheet [mm].
constexpr double margin = 10.0;  // more than any printer leaves bare
constexpr double bar = 100.0;
constexpr double bar_strip = 12.0;  // at the right, for the upright bar
constexpr double disc_top = 13.0;   // from the paper's edge to the disc's
constexpr double foot_height = 62.0;
constexpr double letter = 3.5;  // of text: 10 points
constexpr double text_line = 4.9;

constexpr std::size_t most_faults = 40, most_sheets = 6, places_on_a_sheet = 5;
constexpr double together_mm = 4.0;  // faults so near share a ring
constexpr double ring_mm = 5.0;
constexpr double inside_mm = 7.0;  // a ring keeps so far from the drawing's border

constexpr Colour black{};

/// The disc, or the metal that pressed it.
DiscShape shape_of(const works::ListeningReport& report, const FinderOptions& options) {
  DiscShape shape = disc_shape(report.geometry);
  if (is_metal(options.view))
    for (double* radius_m : {&shape.edge_radius_m, &shape.label_radius_m})
      *radius_m /= 1.0 - options.shrinkage;
  return shape;
}

double shown_mm(double radius_on_disc_m, const FinderOptions& options) {
  return mm_per_m *
         (is_metal(options.view) ? radius_on_disc_m / (1.0 - options.shrinkage) : radius_on_disc_m);
}

bool has_place(const works::FaultEvent& fault) {
  return fault.angle_deg && fault.radius_m;
}

/// Where the disc lies when `up_deg` is straight above the hole.
FinderSheet empty_sheet(const DiscShape& shape, const FinderOptions& options, double up_deg) {
  const Paper& paper = options.paper;
  FinderSheet sheet;
  sheet.drawing = {margin,
                   margin,
                   paper.width_mm - 2.0 * margin - bar_strip,
                   paper.height_mm - 2.0 * margin - foot_height};
  sheet.view = {.view = options.view,
                .centre = {sheet.drawing.x + sheet.drawing.width / 2.0,
                           disc_top + shape.edge_radius_m * mm_per_m},
                .units_per_m = mm_per_m,
                .landmark_angle_deg = up_deg};
  return sheet;
}

bool is_inside(const Box& box, Point at, double spare) {
  return at.x >= box.x + spare && at.x <= box.x + box.width - spare && at.y >= box.y + spare &&
         at.y <= box.y + box.height - spare;
}

Point place(const FinderSheet& sheet,
            const works::FaultEvent& fault,
            const FinderOptions& options) {
  return sheet.view.place(shown_mm(*fault.radius_m, options) / mm_per_m, *fault.angle_deg);
}

/// Puts the fault beside one that is near it, or on a place of its own while there is room in the table.
bool add(FinderSheet& sheet, Point at, std::size_t rank) {
  for (FinderPlace& other : sheet.places)
    if (std::hypot(other.at.x - at.x, other.at.y - at.y) < together_mm) {
      other.ranks.push_back(rank);
      return true;
    }
  if (sheet.places.size() == places_on_a_sheet || !is_inside(sheet.drawing, at, inside_mm))
    return false;
  sheet.places.push_back({at, {rank}});
  return true;
}

/// One page with everything on it.
class Drawing {
 public:
  Drawing(Canvas& canvas, const works::ListeningReport& report, const FinderOptions& options)
      : canvas_{canvas},
        report_{report},
        options_{options},
        worst_{worst_first(report.faults)},
        shape_{shape_of(report, options)} {}

  void draw(const FinderSheet& sheet, std::size_t number, std::size_t count) {
    canvas_.ink(black);
    heads(number, count);
    bars(sheet);
    disc(sheet);
    rays(sheet);
    for (const FinderPlace& one : sheet.places) ring(sheet, one);
    foot(sheet);
  }

 private:
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }

  void stroke(double width_mm) const {
    canvas_.ink(black);
    cairo_set_line_width(pen(), width_mm);
    cairo_stroke(pen());
  }
  void line(Point from, Point to, double width_mm) const {
    cairo_new_path(pen());
    cairo_move_to(pen(), from.x, from.y);
    cairo_line_to(pen(), to.x, to.y);
    stroke(width_mm);
  }
  void circle(Point at, double radius_mm, double width_mm) const {
    cairo_new_path(pen());
    cairo_arc(pen(), at.x, at.y, radius_mm, 0.0, turn);
    stroke(width_mm);
  }
  template <std::size_t count>
  void dashed(const std::array<double, count>& dashes) const {
    cairo_set_dash(pen(), dashes.data(), count, 0.0);
  }
  void unbroken() const { cairo_set_dash(pen(), nullptr, 0, 0.0); }

  [[nodiscard]] std::string_view face() const {
    switch (options_.view) {
      case View::disc:
        return "disc";
      case View::mother:
        return "mother";
      case View::stamper:
        return "stamper";
      case View::father:
        return "father";
    }
    return "disc";
  }

  /// The corners beside the disc.
  void heads(std::size_t number, std::size_t count) {
    const double right = options_.paper.width_mm - margin;
    canvas_.text(fmt::format("Finder {} of {}", number, count),
                 {margin, margin},
                 {.size = 5.5, .colour = black, .bold = true});
    canvas_.text(fmt::format("{}, face up", face()),
                 {margin, margin + 7.2},
                 {.size = letter, .colour = black});
    if (is_mirrored(options_.view))
      canvas_.text("mirrored",
                   {margin, margin + 7.2 + text_line},
                   {.size = letter, .colour = black, .bold = true});
    canvas_.text("Print at 100 %",
                 {right, margin},
                 {.size = 5.5, .colour = black, .bold = true},
                 Align::right);
    canvas_.text("not “fit to page”",
                 {right, margin + 7.2},
                 {.size = letter, .colour = black},
                 Align::right);
    if (options_.format == PictureFormat::svg && count > 1)
      canvas_.text("the others: PDF",
                   {right, margin + 7.2 + text_line},
                   {.size = letter, .colour = black},
                   Align::right);
  }

  /// 100 mm across and 100 mm up, with ends to lay a rule on.
  void bars(const FinderSheet& sheet) {
    const double right = options_.paper.width_mm - margin;
    const double low = sheet.drawing.y + sheet.drawing.height;
    const double x = right - 4.0;
    line({x, low - bar}, {x, low}, 0.4);
    for (int cm = 0; cm <= 10; ++cm) {
      const double reach = cm % 10 == 0 ? 3.0 : cm == 5 ? 2.0 : 1.2;
      line({x - reach, low - 10.0 * cm}, {x, low - 10.0 * cm}, 0.3);
    }
    canvas_.text(
        "100 mm", {right, low - bar - 6.0}, {.size = letter, .colour = black}, Align::right);
    const double y = options_.paper.height_mm - margin - 17.5;
    line({margin, y}, {margin + bar, y}, 0.4);
    for (int cm = 0; cm <= 10; ++cm) {
      const double reach = cm % 10 == 0 ? 3.0 : cm == 5 ? 2.0 : 1.2;
      line({margin + 10.0 * cm, y - reach}, {margin + 10.0 * cm, y}, 0.3);
    }
    canvas_.text("both bars must measure 100 mm",
                 {margin + bar + 3.0, y - 4.2},
                 {.size = letter, .colour = black, .bold = true});
  }

  void disc(const FinderSheet& sheet) {
    cairo_save(pen());
    clip_to(sheet.drawing);
    const Point hole = sheet.view.centre;
    circle(hole, shape_.edge_radius_m * mm_per_m, 0.6);
    circle(hole, shape_.label_radius_m * mm_per_m, 0.3);
    dashed(std::array<double, 2>{0.8, 1.6});
    circle(hole, shown_mm(report_.geometry.outer_radius_m, options_), 0.25);
    circle(hole, shown_mm(report_.geometry.inner_radius_m, options_), 0.25);
    unbroken();
    const double radius = shape_.hole_radius_m * mm_per_m;
    circle(hole, radius, 0.5);
    const double cross = std::max(radius + 3.0, 6.0);
    line({hole.x - cross, hole.y}, {hole.x + cross, hole.y}, 0.2);
    line({hole.x, hole.y - cross}, {hole.x, hole.y + cross}, 0.2);
    cairo_restore(pen());
  }

  void clip_to(const Box& box) const {
    cairo_rectangle(pen(), box.x, box.y, box.width, box.height);
    cairo_clip(pen());
  }

  /// A line from the hole towards a groove angle, with its meaning written across it.
  void ray(const FinderSheet& sheet, double angle_deg, const std::string& text, double width_mm) {
    const double edge_m = shape_.edge_radius_m;
    cairo_save(pen());
    clip_to(sheet.drawing);
    dashed(std::array<double, 4>{6.0, 1.5, 1.0, 1.5});
    line(sheet.view.place(shape_.hole_radius_m, angle_deg),
         sheet.view.place(edge_m, angle_deg),
         width_mm);
    unbroken();
    cairo_restore(pen());
    const TextStyle style{.size = letter, .colour = black, .bold = true};
    const Box size = canvas_.measure(text, {}, style);
    // In the label's outer half, or else further out: on the first free plate along the line.
    for (double r_m = 0.75 * shape_.label_radius_m; r_m < edge_m; r_m += 0.004) {
      const Point at = sheet.view.place(r_m, angle_deg);
      const Box plate{
          at.x - size.width / 2.0 - 0.6, at.y - size.height / 2.0, size.width + 1.2, size.height};
      if (!is_inside(sheet.drawing, {plate.x, plate.y}, 0.0) ||
          !is_inside(sheet.drawing, {plate.x + plate.width, plate.y + plate.height}, 0.0))
        continue;
      if (!canvas_.is_free(plate) || touches_a_ring(sheet, plate)) continue;
      put_on_plate(text, plate, style);
      return;
    }
  }

  static bool touches_a_ring(const FinderSheet& sheet, const Box& plate) {
    return std::ranges::any_of(sheet.places, [&](const FinderPlace& one) {
      return plate.meets({one.at.x - ring_mm, one.at.y - ring_mm, 2.0 * ring_mm, 2.0 * ring_mm});
    });
  }

  void put_on_plate(const std::string& text, const Box& plate, const TextStyle& style) {
    canvas_.ink(colour(0xFFFFFF));
    cairo_rectangle(pen(), plate.x, plate.y, plate.width, plate.height);
    cairo_fill(pen());
    canvas_.text(text, {plate.x + plate.width / 2.0, plate.y}, style, Align::centre);
  }

  void rays(const FinderSheet& sheet) {
    if (!options_.landmark.empty()) ray(sheet, options_.landmark_angle_deg, options_.landmark, 0.5);
    ray(sheet, 0.0, "0° programme start", options_.landmark.empty() ? 0.5 : 0.25);
  }

  /// The ring to be cut out, the fault's own place in it, and two standard errors each way.
  void ring(const FinderSheet& sheet, const FinderPlace& one) {
    const Point hole = sheet.view.centre;
    const double radius = std::hypot(one.at.x - hole.x, one.at.y - hole.y);
    const double angle = std::atan2(one.at.y - hole.y, one.at.x - hole.x);
    const auto& fault = report_.faults[worst_[one.ranks.front()]];
    cairo_save(pen());
    clip_to(sheet.drawing);
    const double half =
        std::min(turn / 4.0, 2.0 * fault.angle_sigma_deg.value_or(0.0) * std::numbers::pi / 180.0);
    if (half * radius > 1.0) {
      cairo_new_path(pen());
      cairo_arc(pen(), hole.x, hole.y, radius, angle - half, angle + half);
      stroke(0.35);
    }
    const double deep = std::min(20.0, 2.0 * mm_per_m * fault.radius_sigma_m.value_or(0.0));
    if (deep > 0.5)
      line({one.at.x - deep * std::cos(angle), one.at.y - deep * std::sin(angle)},
           {one.at.x + deep * std::cos(angle), one.at.y + deep * std::sin(angle)},
           0.35);
    dashed(std::array<double, 2>{1.6, 0.9});
    circle(one.at, ring_mm, 0.45);
    unbroken();
    cairo_new_path(pen());
    cairo_arc(pen(), one.at.x, one.at.y, 0.7, 0.0, turn);
    canvas_.ink(black);
    cairo_fill(pen());
    cairo_restore(pen());
    number(sheet, one);
  }

  /// The rank of its worst fault, with how many more are there.
  static std::string name_of(const FinderPlace& one) {
    const std::string worst = std::to_string(one.ranks.front() + 1);
    return one.ranks.size() == 1 ? worst : fmt::format("{} +{}", worst, one.ranks.size() - 1);
  }

  void number(const FinderSheet& sheet, const FinderPlace& one) {
    const std::string text = name_of(one);
    const TextStyle style{.size = 4.5, .colour = black, .bold = true};
    const Box size = canvas_.measure(text, {}, style);
    for (int step = 0; step < 24; ++step) {
      // To the right, then round the ring, then further out.
      const double angle = turn / 8.0 * (step % 8);
      const double reach = ring_mm + 1.2 + 4.0 * (step / 8);
      const double gap_x = std::abs(std::cos(angle)) * size.width / 2.0,
                   gap_y = std::abs(std::sin(angle)) * size.height / 2.0;
      const Point at{one.at.x + (reach + gap_x) * std::cos(angle),
                     one.at.y + (reach + gap_y) * std::sin(angle)};
      const Box plate{at.x - size.width / 2.0, at.y - size.height / 2.0, size.width, size.height};
      if (!canvas_.is_free(plate) || touches_a_ring(sheet, plate) ||
          !is_inside(sheet.drawing, at, 4.0))
        continue;
      put_on_plate(text, plate, style);
      return;
    }
  }

  void foot(const FinderSheet& sheet) {
    const double right = options_.paper.width_mm - margin;
    double y = sheet.drawing.y + sheet.drawing.height + 2.0;
    std::string whose = options_.title.empty() ? "" : options_.title + " · ";
    whose += file_name(report_.capture.path) + " · " + report_.geometry.format;
    if (!options_.date.empty()) whose += " · " + options_.date;
    canvas_.text(
        whose, {margin, y}, {.size = letter, .colour = black, .ellipsis_width = right - margin});
    y += text_line + 0.6;
    table(sheet, y);
    steps(y);
    if (is_metal(options_.view)) caution();
  }

  void cell(const std::string& text, double x, double y, Align align, bool bold) {
    canvas_.text(text, {margin + x, y}, {.size = letter, .colour = black, .bold = bold}, align);
  }

  /// Worst first, as on the portrait and the terminal.
  void table(const FinderSheet& sheet, double y) {
    if (sheet.places.empty())
      return cell("No fault with a place on the disc was found.", 0.0, y, Align::left, true);
    struct Column {
      const char* head;
      double x;
      Align align;
    };
    constexpr std::array<Column, 5> columns{{{"", 0.0, Align::left},
                                             {"time", 33.0, Align::right},
                                             {"radius mm", 55.0, Align::right},
                                             {"angle", 70.0, Align::right},
                                             {"kind", 74.0, Align::left}}};
    for (const Column& column : columns) cell(column.head, column.x, y, column.align, false);
    for (const FinderPlace& one : sheet.places) {
      y += text_line;
      const auto& fault = report_.faults[worst_[one.ranks.front()]];
      const double from_landmark = *fault.angle_deg - landmark_deg();
      const auto give = [&](std::size_t i, const std::string& text, bool bold) {
        cell(text, columns[i].x, y, columns[i].align, bold);
      };
      give(0, name_of(one), true);
      give(1, clock_ms(fault.programme_s.value_or(fault.capture_s)), false);
      give(2, fmt::format("{:.1f}", shown_mm(*fault.radius_m, options_)), false);
      give(3, degrees(from_landmark), false);
      give(4, std::string{word(fault.kind)}, false);
    }
  }

  [[nodiscard]] double landmark_deg() const {
    return options_.landmark.empty() ? 0.0 : options_.landmark_angle_deg;
  }

  void steps(double y) {
    std::string text = fmt::format(
        "Cut out hole and rings. Lay the sheet on the {}, hole on hole, the line to {}. "
        "Angles run {} the clock from it; marks in the rings are 2σ.",
        face(),
        options_.landmark.empty() ? "where the programme begins" : "the " + options_.landmark,
        is_mirrored(options_.view) ? "with" : "against");
    if (is_metal(options_.view))
      text += options_.shrinkage > 0.0
                  ? fmt::format(" Shrinkage {:.2f} % allowed for.", options_.shrinkage * 1e2)
                  : " No shrinkage was given.";
    const double left = margin + 97.0;
    canvas_.text(
        text,
        {left, y},
        {.size = letter, .colour = black, .wrap_width = options_.paper.width_mm - margin - left});
  }

  void caution() {
    const double width = options_.paper.width_mm - 2.0 * margin;
    const Box frame{margin, options_.paper.height_mm - margin - 13.0, width, 13.0};
    cairo_new_path(pen());
    cairo_rectangle(pen(), frame.x, frame.y, frame.width, frame.height);
    stroke(0.5);
    canvas_.text(
        "Caution: the edges of thin metal cut; wear cut-resistant gloves and keep it flat. Nickel "
        "can "
        "make the skin allergic. On a press, lock it out first. The works’ own rules come before "
        "this sheet.",
        {frame.x + 2.0, frame.y + 1.6},
        {.size = letter, .colour = black, .wrap_width = width - 4.0});
  }

  Canvas& canvas_;
  const works::ListeningReport& report_;
  const FinderOptions& options_;
  std::vector<std::size_t> worst_;
  DiscShape shape_;
};

Outcome check(const works::ListeningReport& report, const FinderOptions& options) {
  if (options.format == PictureFormat::png)
    return Error{Fault::out_of_range,
                 "a finder is printed at 1:1, which a PNG has no size for; use .pdf or .svg"};
  // What a portrait cannot show, a finder cannot either.
  return check_portrait(report,
                        {.view = options.view,
                         .shrinkage = options.shrinkage,
                         .landmark_angle_deg = options.landmark_angle_deg});
}

/// Draws all sheets that the format holds; `texts` gets a list for each.
void draw_all(Canvas& canvas,
              const works::ListeningReport& report,
              const FinderOptions& options,
              std::vector<std::vector<PlacedText>>& texts) {
  const auto sheets = plan_finder(report, options);
  Drawing drawing{canvas, report, options};
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    if (i > 0) {
      if (options.format != PictureFormat::pdf) return;
      canvas.next_sheet();
    }
    drawing.draw(sheets[i], i + 1, sheets.size());
    texts.push_back(canvas.texts());
  }
}

}  // namespace

std::vector<FinderSheet> plan_finder(const works::ListeningReport& report,
                                     const FinderOptions& options) {
  const DiscShape shape = shape_of(report, options);
  const auto worst = worst_first(report.faults);
  std::vector<std::size_t> left;
  for (std::size_t rank = 0; rank < std::min(most_faults, worst.size()); ++rank)
    if (has_place(report.faults[worst[rank]])) left.push_back(rank);
  std::vector<FinderSheet> sheets;
  while (!left.empty() && sheets.size() < most_sheets) {
    FinderSheet sheet = empty_sheet(shape, options, *report.faults[worst[left.front()]].angle_deg);
    std::vector<std::size_t> later;
    for (const std::size_t rank : left)
      if (!add(sheet, place(sheet, report.faults[worst[rank]], options), rank))
        later.push_back(rank);
    // A place beyond the paper, on a band that reaches past its disc, is shown by no sheet.
    if (sheet.places.empty() || sheet.places.front().ranks.front() != left.front())
      std::erase(later, left.front());
    if (!sheet.places.empty()) sheets.push_back(std::move(sheet));
    left = std::move(later);
  }
  if (sheets.empty()) sheets.push_back(empty_sheet(shape, options, 0.0));
  return sheets;
}

Result<std::string> finder_sheet(const works::ListeningReport& report,
                                 const FinderOptions& options) {
  if (const auto checked = check(report, options); !checked) return checked.error();
  Canvas canvas{options.format, options.paper};
  std::vector<std::vector<PlacedText>> texts;
  draw_all(canvas, report, options, texts);
  return canvas.finish();
}

Result<std::vector<std::vector<PlacedText>>> finder_texts(const works::ListeningReport& report,
                                                          const FinderOptions& options) {
  if (const auto checked = check(report, options); !checked) return checked.error();
  Canvas canvas{options.format, options.paper};
  std::vector<std::vector<PlacedText>> texts;
  draw_all(canvas, report, options, texts);
  return texts;
}

}  // namespace goodside::draw
