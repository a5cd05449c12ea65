#include "draw/label.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>

#include "draw/code_symbol.hpp"
#include "draw/sheets.hpp"

namespace goodside::draw {
namespace {

constexpr double least_width = 50.0, least_height = 40.0, least_letter = 2.0;

class Labelling {
 public:
  Labelling(Canvas& canvas, const Paper& paper, const UnitLabel& label)
      : canvas_{canvas}, paper_{paper}, label_{label}, margin_{paper.width_mm < 90.0 ? 3.0 : 5.0} {}

  Outcome draw() {
    bottom_ = paper_.height_mm - margin_;
    if (const auto done = bars(); !done) return done;
    if (const auto done = head(); !done) return done;
    return body();
  }

 private:
  [[nodiscard]] double width() const { return paper_.width_mm - 2.0 * margin_; }

  void rule(double y) {
    cairo_t* pen = canvas_.pen();
    canvas_.ink({});
    cairo_new_path(pen);
    cairo_set_line_width(pen, 0.4);
    cairo_move_to(pen, margin_, y);
    cairo_line_to(pen, paper_.width_mm - margin_, y);
    cairo_stroke(pen);
  }

  /// From the foot upwards.
  Outcome bars() {
    const double letter = paper_.width_mm < 90.0 ? 3.0 : 3.6;
    const double height = std::clamp(0.16 * paper_.height_mm, 8.0, 32.0);
    for (auto code = label_.bars.rbegin(); code != label_.bars.rend(); ++code) {
      const auto symbol = symbol_of(*code);
      if (!symbol) return symbol.error();
      bottom_ -= letter * 1.25;
      canvas_.text(code->text,
                   {paper_.width_mm / 2.0, bottom_},
                   {.size = letter, .ellipsis_width = width()},
                   Align::centre);
      // The quiet zone may take the margin: nothing else is printed there.
      const double room = paper_.width_mm - 2.0;
      bottom_ -= height + 0.8;
      const auto filled = draw_symbol(
          canvas_,
          *symbol,
          {.within = {1.0, bottom_, room, height}, .least_module = 0.25, .most_module = 0.7});
      if (!filled) return filled.error();
      bottom_ -= 1.2;
    }
    if (!label_.bars.empty()) {
      rule(bottom_);
      bottom_ -= 1.2;
    }
    return Done{};
  }

  Outcome head() {
    y_ = margin_;
    double right = paper_.width_mm - margin_, lowest = margin_;
    if (label_.matrix.kind != PaperCode::Kind::none) {
      const auto symbol = symbol_of(label_.matrix);
      if (!symbol) return symbol.error();
      const double side = std::clamp(0.24 * paper_.width_mm, 12.0, 26.0);
      const auto filled = draw_symbol(canvas_,
                                      *symbol,
                                      {.within = {right - side, y_ - 1.0, side, side},
                                       .least_module = 0.25,
                                       .most_module = 1.0});
      if (!filled) return filled.error();
      lowest = filled->y + filled->height;
      right = filled->x - 1.0;
    }
    const double room = right - margin_;
    const double big = paper_.width_mm < 90.0 ? 5.4 : 7.4;
    y_ += canvas_
              .text(label_.what,
                    {margin_, y_},
                    {.size = 0.55 * big, .wrap_width = room, .most_lines = 2})
              .height +
          0.5;
    y_ += uncut(label_.code, big, room).height;
    if (!label_.count.empty()) y_ += uncut(label_.count, big, room).height;
    y_ = std::max(y_, lowest) + 0.8;
    rule(y_);
    y_ += 1.2;
    return Done{};
  }

  /// On one line whatever it takes.
  Box uncut(const std::string& text, double size, double room) {
    TextStyle style{.size = size, .bold = true};
    while (style.size > least_letter && canvas_.measure(text, {}, style).width > room)
      style.size *= 0.95;
    return canvas_.text(text, {margin_, y_}, style);
  }

  struct Block {
    std::string name, text;
    double size;
    bool bold;
    int most_lines;
  };

  double set(const std::vector<Block>& blocks, double factor, int most_lines, bool draw) {
    double y = y_;
    for (const Block& block : blocks) {
      if (block.text.empty()) continue;
      const double size = std::max(least_letter, block.size * factor);
      const double indent = block.name.empty() ? 0.0 : 0.3 * width();
      const TextStyle left{.size = size, .wrap_width = indent - 1.0, .most_lines = 2};
      const TextStyle right{.size = size,
                            .bold = block.bold,
                            .wrap_width = width() - indent,
                            .most_lines = std::min(most_lines, block.most_lines)};
      double height = canvas_.measure(block.text, {}, right).height;
      if (!block.name.empty())
        height = std::max(height, canvas_.measure(block.name, {}, left).height);
      if (draw) {
        if (!block.name.empty()) canvas_.text(block.name, {margin_, y}, left);
        canvas_.text(block.text, {margin_ + indent, y}, right);
      }
      y += height + 0.5 * factor;
    }
    return y;
  }

  Outcome body() {
    std::vector<Block> blocks;
    if (!label_.headline.empty()) blocks.push_back({"", label_.headline, 4.8, true, 4});
    if (!label_.to.empty()) blocks.push_back({"to", label_.to, 4.4, true, 6});
    for (const auto& [name, value] : label_.pairs) blocks.push_back({name, value, 3.6, false, 3});
    if (!label_.caution.empty()) blocks.push_back({"", label_.caution, 3.0, false, 6});
    for (const int most_lines : {6, 2, 1})
      for (double factor = 1.0; factor > 0.5; factor -= 0.05) {
        if (set(blocks, factor, most_lines, false) > bottom_) continue;
        set(blocks, factor, most_lines, true);
        return Done{};
      }
    return Error{
        Fault::out_of_range,
        fmt::format("a label of {:.0f} x {:.0f} mm is too small for {}; take a larger one, such "
                    "as a6",
                    paper_.width_mm,
                    paper_.height_mm,
                    label_.code)};
  }

  Canvas& canvas_;
  const Paper& paper_;
  const UnitLabel& label_;
  double margin_, y_{}, bottom_{};
};

std::vector<std::string> all_texts(const UnitLabel& label) {
  std::vector<std::string> all{
      label.what, label.code, label.headline, label.count, label.to, label.caution};
  for (const auto& [name, value] : label.pairs) {
    all.push_back(name);
    all.push_back(value);
  }
  for (const PaperCode& code : label.bars) all.push_back(code.text);
  return all;
}

}  // namespace

Result<DrawnPaper> draw_labels(const std::vector<UnitLabel>& labels,
                               PictureFormat format,
                               const Paper& paper) {
  if (labels.empty())
    return Error{Fault::bad_input, "there is nothing to label; name at least one"};
  if (paper.width_mm < least_width || paper.height_mm < least_height)
    return Error{
        Fault::out_of_range,
        fmt::format("{:.0f} x {:.0f} mm are too small for a label; give at least 50 x 40 mm",
                    paper.width_mm,
                    paper.height_mm)};
  Sheets sheets{format, paper};
  for (const UnitLabel& label : labels) {
    if (const auto checked = check_letters(all_texts(label)); !checked) return checked.error();
    if (const auto begun = sheets.next(); !begun) return begun.error();
    if (const auto drawn = Labelling{sheets.canvas(), paper, label}.draw(); !drawn)
      return drawn.error();
  }
  return sheets.finish();
}

}  // namespace goodside::draw
