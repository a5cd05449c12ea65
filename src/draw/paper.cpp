#include "draw/paper.hpp"

#include <cairo.h>
#include <fmt/format.h>
#include <pango/pangocairo.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <numbers>

#include "base/expects.hpp"
#include "draw/code_symbol.hpp"
#include "draw/disc_shape.hpp"
#include "draw/finder_sheet.hpp"
#include "draw/marks.hpp"
#include "draw/sheets.hpp"

namespace goodside::draw {
namespace {

// The sheet [mm].
constexpr double margin = 12.0, symbol_side = 20.0, least_width = 140.0, least_height = 140.0;
constexpr double letter = 3.5, row_gap = 1.1, head_letter = 6.0, heading_letter = 4.2;
constexpr double name_column = 46.0, sign_height = 13.0, sketch_radius = 17.0;
constexpr int most_lines_of_a_cell = 14;

constexpr Palette black_palette{.ground = colour(0xFFFFFF),
                                .raised = colour(0xFFFFFF),
                                .line = colour(0x000000),
                                .ink = colour(0x000000),
                                .quiet_ink = colour(0x000000),
                                .copper = colour(0x000000),
                                .good = colour(0x000000),
                                .out = colour(0x000000)};

/// Draws a paper once; `total` sheets are written as "1 of 3", where they are known.
class Printing {
 public:
  Printing(const PaperText& text, PictureFormat format, const Paper& paper, std::size_t total)
      : text_{text}, sheets_{format, paper}, paper_{paper}, total_{total} {}

  Result<DrawnPaper> print() {
    if (!text_.symbol.content.empty()) {
      auto symbol = symbol_of(text_.symbol);
      if (!symbol) return symbol.error();
      symbol_ = std::make_unique<CodeSymbol>(std::move(*symbol));
    }
    if (const auto begun = begin_sheet(); !begun) return begun.error();
    for (const PaperPart& part : text_.parts)
      if (const auto done = put(part); !done) return done.error();
    return sheets_.finish();
  }

 private:
  [[nodiscard]] double width() const { return paper_.width_mm - 2.0 * margin; }
  [[nodiscard]] Canvas& canvas() { return sheets_.canvas(); }

  void line(Point from, Point to, double thickness) {
    cairo_t* pen = canvas().pen();
    canvas().ink({});
    cairo_new_path(pen);
    cairo_set_line_width(pen, thickness);
    cairo_move_to(pen, from.x, from.y);
    cairo_line_to(pen, to.x, to.y);
    cairo_stroke(pen);
  }

  Outcome begin_sheet() {
    if (const auto begun = sheets_.next(); !begun) return begun.error();
    foot();
    return head();
  }

  void foot() {
    double y = paper_.height_mm - margin;
    const TextStyle style{.size = 3.5, .wrap_width = width() - 4.0};
    if (!text_.caution.empty()) {
      const double height = canvas().measure(text_.caution, {}, style).height + 3.0;
      y -= height;
      cairo_t* pen = canvas().pen();
      canvas().ink({});
      cairo_new_path(pen);
      cairo_set_line_width(pen, 0.5);
      cairo_rectangle(pen, margin, y, width(), height);
      cairo_stroke(pen);
      canvas().text(text_.caution, {margin + 2.0, y + 1.5}, style);
    }
    y -= letter * 1.5;
    const std::string sheet =
        total_ == 0 ? std::string{} : fmt::format("sheet {} of {}", sheets_.count(), total_);
    const Box right =
        canvas().text(sheet, {paper_.width_mm - margin, y}, {.size = letter}, Align::right);
    std::string whose = text_.works;
    if (!text_.date.empty()) whose += (whose.empty() ? "" : " · ") + text_.date;
    if (!whose.empty())
      canvas().text(
          whose, {margin, y}, {.size = letter, .ellipsis_width = width() - right.width - 4.0});
    bottom_ = y - 2.0;
  }

  Outcome head() {
    const bool first = sheets_.count() == 1;
    double y = margin, right = paper_.width_mm - margin;
    double lowest = y;
    if (symbol_ && first && symbol_->matrix) {
      const auto filled =
          draw_symbol(canvas(),
                      *symbol_,
                      {.within = {right - symbol_side, y - 1.0, symbol_side, symbol_side},
                       .least_module = 0.25,
                       .most_module = 0.9});
      if (!filled) return filled.error();
      lowest = filled->y + filled->height;
      right -= symbol_side + 3.0;
    }
    const double room = right - margin;
    const Box code =
        canvas().text(text_.code, {right, y + 0.6}, {.size = 5.0, .bold = true}, Align::right);
    y += canvas()
             .text(text_.what,
                   {margin, y},
                   {.size = head_letter,
                    .bold = true,
                    .wrap_width = std::max(40.0, room - code.width - 4.0),
                    .most_lines = 2})
             .height +
         1.0;
    if (!text_.headline.empty())
      y +=
          canvas()
              .text(text_.headline,
                    {margin, y},
                    {.size = first ? 4.8 : letter, .wrap_width = room, .most_lines = first ? 4 : 1})
              .height;
    y = std::max(y, lowest) + 1.5;
    if (symbol_ && first && !symbol_->matrix) {
      const auto filled = draw_symbol(
          canvas(),
          *symbol_,
          {.within = {margin, y, width(), 14.0}, .least_module = 0.25, .most_module = 0.5});
      if (!filled) return filled.error();
      y = filled->y + filled->height + 1.0;
      if (!text_.symbol.text.empty())
        y += canvas().text(text_.symbol.text, {margin, y}, {.size = letter}).height;
      y += 1.5;
    }
    line({margin, y}, {paper_.width_mm - margin, y}, 0.5);
    y_ = y + 2.5;
    top_ = y_;
    if (bottom_ - top_ < 40.0)
      return Error{Fault::out_of_range,
                   fmt::format("{:.0f} x {:.0f} mm leave no room for a {}; take A4 or Letter",
                               paper_.width_mm,
                               paper_.height_mm,
                               text_.what)};
    return Done{};
  }

  /// Goes on to the next sheet where `height` is not free any more.
  Outcome need(double height) {
    if (y_ + height <= bottom_ || y_ <= top_ + 0.01) return Done{};
    return begin_sheet();
  }

  Outcome put(const PaperPart& part) {
    // A label stays with what is said of it.
    const double together = part.label ? part.label->diameter_m * 1e3 + 8.0 * letter : 14.0;
    if (const auto there = need(std::min(bottom_ - top_, heading_letter * 1.4 + together)); !there)
      return there;
    if (!part.heading.empty()) {
      y_ +=
          canvas()
              .text(part.heading,
                    {margin, y_},
                    {.size = heading_letter, .bold = true, .wrap_width = width(), .most_lines = 2})
              .height +
          1.0;
    }
    for (const auto step : {&Printing::sentences,
                            &Printing::pairs,
                            &Printing::label,
                            &Printing::table,
                            &Printing::discs,
                            &Printing::signing})
      if (const auto done = (this->*step)(part); !done) return done;
    y_ += 2.5;
    return Done{};
  }

  Outcome sentences(const PaperPart& part) {
    for (const std::string& sentence : part.sentences) {
      const TextStyle style{.size = letter, .wrap_width = width()};
      const double height = canvas().measure(sentence, {}, style).height;
      if (const auto there = need(height); !there) return there;
      canvas().text(sentence, {margin, y_}, style);
      y_ += height + row_gap;
    }
    return Done{};
  }

  Outcome pairs(const PaperPart& part) {
    for (const auto& [name, value] : part.pairs) {
      const TextStyle left{.size = letter, .wrap_width = name_column - 2.0, .most_lines = 3};
      const TextStyle right{.size = letter,
                            .bold = true,
                            .wrap_width = width() - name_column,
                            .most_lines = most_lines_of_a_cell};
      const double height = std::max(canvas().measure(name, {}, left).height,
                                     canvas().measure(value, {}, right).height);
      if (const auto there = need(height); !there) return there;
      canvas().text(name, {margin, y_}, left);
      canvas().text(value, {margin + name_column, y_}, right);
      y_ += height + row_gap;
    }
    return Done{};
  }

  Outcome label(const PaperPart& part) {
    if (!part.label) return Done{};
    const double side = part.label->diameter_m * 1e3;
    if (side > std::min(width(), bottom_ - top_))
      return Error{
          Fault::out_of_range,
          fmt::format("a label of {:.0f} mm does not go on this paper at its own size", side)};
    y_ += 1.5;
    if (const auto there = need(side); !there) return there;
    draw_centre_label(canvas(), *part.label, {margin + (width() - side) / 2.0, y_});
    y_ += side + 3.0;
    return Done{};
  }

  [[nodiscard]] std::vector<double> column_edges(const PaperTable& table) const {
    double sum = 0.0;
    for (const PaperColumn& column : table.columns) sum += column.share;
    std::vector<double> edges{margin};
    for (const PaperColumn& column : table.columns)
      edges.push_back(edges.back() + width() * column.share / sum);
    return edges;
  }

  /// A row of cells, each wrapped within its column; the height it takes.
  double row(const PaperTable& table,
             const std::vector<double>& edges,
             const std::vector<std::string>& cells,
             bool bold,
             bool draw) {
    double height = std::max(letter * 1.2, table.least_row_mm * (bold ? 0.0 : 1.0));
    for (std::size_t i = 0; i < std::min(cells.size(), table.columns.size()); ++i) {
      TextStyle style{
          .size = letter,
          .bold = bold,
          .wrap_width = edges[i + 1] - edges[i] - (table.columns[i].figures ? 4.0 : 2.0),
          .most_lines = most_lines_of_a_cell};
      const Box filled = canvas().measure(cells[i], {}, style);
      height = std::max(height, filled.height);
      if (!draw || cells[i].empty()) continue;
      const double x = table.columns[i].figures ? edges[i + 1] - 4.0 - filled.width : edges[i];
      style.wrap_width += 0.01;
      canvas().text(cells[i], {x, y_}, style);
    }
    return height;
  }

  void table_head(const PaperTable& table, const std::vector<double>& edges) {
    std::vector<std::string> heads;
    for (const PaperColumn& column : table.columns) heads.push_back(column.head);
    y_ += row(table, edges, heads, true, true) + 0.6;
    line({margin, y_}, {paper_.width_mm - margin, y_}, 0.35);
    y_ += 0.9;
  }

  Outcome table(const PaperPart& part) {
    const PaperTable& table = part.table;
    if (table.columns.empty()) return Done{};
    const auto edges = column_edges(table);
    if (const auto there = need(4.0 * letter); !there) return there;
    table_head(table, edges);
    for (const auto& cells : table.rows) {
      const double height = row(table, edges, cells, false, false);
      if (y_ + height + 1.0 > bottom_) {
        if (const auto begun = begin_sheet(); !begun) return begun;
        table_head(table, edges);
      }
      row(table, edges, cells, false, true);
      y_ += height + 0.5;
      line({margin, y_}, {paper_.width_mm - margin, y_}, 0.1);
      y_ += 0.7;
    }
    return Done{};
  }

  void sketch(const DiscSketch& one, Point corner) {
    const works::ListeningReport& report = one.report;
    const DiscShape shape = disc_shape(report.geometry);
    const DiscView view{.view = View::disc,
                        .centre = {corner.x + sketch_radius, corner.y + sketch_radius},
                        .units_per_m = sketch_radius / shape.edge_radius_m};
    cairo_t* pen = canvas().pen();
    canvas().ink({});
    struct Ring {
      double radius_m, thickness;
    };
    for (const Ring& ring : {Ring{shape.edge_radius_m, 0.4},
                             Ring{report.geometry.outer_radius_m, 0.1},
                             Ring{report.geometry.inner_radius_m, 0.1},
                             Ring{shape.label_radius_m, 0.2},
                             Ring{shape.hole_radius_m, 0.2}}) {
      if (!(ring.radius_m > 0.0)) continue;
      cairo_new_path(pen);
      cairo_set_line_width(pen, ring.thickness);
      cairo_arc(pen,
                view.centre.x,
                view.centre.y,
                ring.radius_m * view.units_per_m,
                0.0,
                2.0 * std::numbers::pi);
      cairo_stroke(pen);
    }
    // The notch: where the programme begins.
    const Point notch = view.place(shape.edge_radius_m, 0.0);
    line(notch, view.place(shape.edge_radius_m * 0.94, 0.0), 0.5);
    std::size_t shown = 0;
    for (const std::size_t i : worst_first(report.faults)) {
      const works::FaultEvent& fault = report.faults[i];
      if (!fault.angle_deg || !fault.radius_m || ++shown > 40) continue;
      const Point at = view.place(*fault.radius_m, *fault.angle_deg);
      cairo_save(pen);
      cairo_set_line_width(pen, 0.2);
      draw_mark(canvas(),
                fault.kind,
                {.at = at,
                 .inwards_rad = std::atan2(view.centre.y - at.y, view.centre.x - at.x),
                 .radius = mark_radius(fault.peak_dB) * 0.16},
                black_palette);
      cairo_restore(pen);
    }
    const Standing verdict = standing(report);
    const double below = corner.y + 2.0 * sketch_radius + 1.5;
    draw_standing(canvas(), verdict, {corner.x + 2.0, below + 2.2}, 1.5, black_palette);
    canvas().text(one.caption + "\n" + std::string{word(verdict)},
                  {corner.x + 5.0, below},
                  {.size = letter, .wrap_width = 2.0 * sketch_radius + 1.0, .most_lines = 3});
  }

  Outcome discs(const PaperPart& part) {
    constexpr double cell_width = 2.0 * sketch_radius + 9.0,
                     cell_height = 2.0 * sketch_radius + 17.0;
    const auto across = std::max<std::size_t>(1, static_cast<std::size_t>(width() / cell_width));
    for (std::size_t i = 0; i < part.discs.size(); ++i) {
      if (i % across == 0)
        if (const auto there = need(cell_height); !there) return there;
      sketch(part.discs[i], {margin + static_cast<double>(i % across) * cell_width, y_});
      if (i % across == across - 1 || i + 1 == part.discs.size()) y_ += cell_height;
    }
    return Done{};
  }

  Outcome signing(const PaperPart& part) {
    for (const std::string& what : part.to_sign) {
      if (const auto there = need(sign_height); !there) return there;
      const TextStyle style{.size = letter, .wrap_width = width() * 0.45, .most_lines = 2};
      const double at = y_ + sign_height - 2.5;
      canvas().text(what, {margin, at - canvas().measure(what, {}, style).height}, style);
      line({margin + width() * 0.48, at}, {paper_.width_mm - margin, at}, 0.2);
      y_ += sign_height;
    }
    return Done{};
  }

  const PaperText& text_;
  Sheets sheets_;
  Paper paper_;
  std::size_t total_;
  std::unique_ptr<CodeSymbol> symbol_;
  double y_{}, top_{}, bottom_{};
};

std::vector<std::string> all_texts(const PaperText& text) {
  std::vector<std::string> all{
      text.what, text.headline, text.code, text.symbol.text, text.caution, text.works, text.date};
  const auto add = [&](const std::vector<std::string>& more) {
    all.insert(all.end(), more.begin(), more.end());
  };
  for (const PaperPart& part : text.parts) {
    all.push_back(part.heading);
    add(part.sentences);
    add(part.to_sign);
    for (const auto& [name, value] : part.pairs) add({name, value});
    for (const PaperColumn& column : part.table.columns) all.push_back(column.head);
    for (const auto& row : part.table.rows) add(row);
    for (const DiscSketch& disc : part.discs) all.push_back(disc.caption);
    if (const auto& label = part.label) {
      add({label->title,
           label->artist,
           label->side,
           label->speed,
           label->matrix,
           label->catalogue,
           label->label_name});
      add(label->tracks);
    }
  }
  return all;
}

}  // namespace

Outcome check_letters(const std::vector<std::string>& texts) {
  const Canvas trial{PictureFormat::pdf, a4_paper};
  for (const std::string& text : texts) {
    if (trial.letters_without_font(text) == 0) continue;
    for (const char *at = text.c_str(), *next = nullptr; *at != '\0'; at = next) {
      next = g_utf8_next_char(at);
      const std::string one(at, static_cast<std::size_t>(next - at));
      if (trial.letters_without_font(one) == 0) continue;
      const gunichar code = g_utf8_get_char(at);
      const guint32 script = g_unicode_script_to_iso15924(g_unichar_get_script(code));
      const std::array<char, 4> name{static_cast<char>(script >> 24U),
                                     static_cast<char>((script >> 16U) & 0xFFU),
                                     static_cast<char>((script >> 8U) & 0xFFU),
                                     static_cast<char>(script & 0xFFU)};
      return Error{
          Fault::bad_input,
          fmt::format("no installed font has the letter {} (U+{:04X}, script {}) of \"{}\"; "
                      "install a font for that script, or write it otherwise",
                      one,
                      code,
                      std::string_view{name.data(), name.size()},
                      text.substr(0, 80))};
    }
  }
  return Done{};
}

Result<CodeSymbol> symbol_of(const PaperCode& code) {
  switch (code.kind) {
    case PaperCode::Kind::code_128:
      return code_128(code.content);
    case PaperCode::Kind::gs1_128:
      return gs1_128(code.content);
    case PaperCode::Kind::data_matrix:
      return data_matrix(code.content);
    case PaperCode::Kind::gs1_data_matrix:
      return gs1_data_matrix(code.content);
    case PaperCode::Kind::ean_upc:
      return ean_upc(code.content);
    case PaperCode::Kind::none:
      break;
  }
  EXPECTS(code.kind != PaperCode::Kind::none);
  return Error{Fault::bad_input, "no code"};
}

Result<Paper> read_paper(std::string_view typed) {
  struct Named {
    std::string_view name;
    Paper paper;
  };
  static constexpr std::array<Named, 6> named{{{"a4", a4_paper},
                                               {"letter", letter_paper},
                                               {"a5", {148.0, 210.0}},
                                               {"a6", {105.0, 148.0}},
                                               {"4x6in", {101.6, 152.4}},
                                               {"62x100", {62.0, 100.0}}}};
  std::string lower, known;
  for (const char one : typed)
    lower += one >= 'A' && one <= 'Z' ? static_cast<char>(one + 32) : one;
  for (const Named& one : named) {
    if (one.name == lower) return one.paper;
    known += std::string{one.name} + ", ";
  }
  if (lower.ends_with("mm")) lower.resize(lower.size() - 2);
  std::array<double, 2> sides{};
  std::size_t side = 0, digits = 0;
  for (const char one : lower) {
    if (one == 'x' && side == 0 && digits > 0) {
      ++side;
      digits = 0;
    } else if (one >= '0' && one <= '9' && ++digits <= 4) {
      sides[side] = 10.0 * sides[side] + (one - '0');
    } else {
      side = 2;
      break;
    }
  }
  if (side != 1 || digits == 0)
    return Error{
        Fault::bad_input,
        fmt::format(
            "\"{}\" is no paper; give {}or a size such as 105x148mm", typed.substr(0, 40), known)};
  for (const double one : sides)
    if (one < 40.0 || one > 1200.0)
      return Error{
          Fault::out_of_range,
          fmt::format("a paper of {} x {} mm is outside 40 to 1200 mm", sides[0], sides[1])};
  return Paper{sides[0], sides[1]};
}

Result<DrawnPaper> draw_paper(const PaperText& text, PictureFormat format, const Paper& paper) {
  if (const auto checked = check_letters(all_texts(text)); !checked) return checked.error();
  if (paper.width_mm < least_width || paper.height_mm < least_height)
    return Error{Fault::out_of_range,
                 fmt::format("{:.0f} x {:.0f} mm are too small for a {}; take A4 or Letter",
                             paper.width_mm,
                             paper.height_mm,
                             text.what)};
  // Once to count the sheets, once to print.
  auto trial = Printing{text, PictureFormat::pdf, paper, 0}.print();
  if (!trial) return trial;
  return Printing{text, format, paper, trial->sheets.size()}.print();
}

}  // namespace goodside::draw
