#include "draw/family_tree.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "draw/marks.hpp"
#include "draw/place_heard.hpp"
#include "draw/trace_words.hpp"

namespace goodside::draw {
namespace {

constexpr double top = 132.0, bottom = 756.0, least_row = 21.0, most_row = 46.0;
constexpr double worth_showing = 0.005, last_resort = 0.05;

struct Column {
  const char* head;
  double x, width;
};
constexpr std::array<Column, 5> columns{{{"cut", 30.0, 150.0},
                                         {"father", 222.0, 150.0},
                                         {"mothers", 414.0, 170.0},
                                         {"stampers", 626.0, 240.0},
                                         {"mountings", 908.0, 250.0}}};

/// A part or mounting, or a count of such that are left out.
struct Node {
  std::string id{};
  std::string beside{};  ///< of a mounting: its press
  std::size_t column{};
  int left_out{};
  int faulty{}, heard{};
  double share{};
  bool is_cause{}, below_cause{};
  double y{};  ///< its middle
  std::vector<std::size_t> children{};
};

class Tree {
 public:
  Tree(const works::Family& family,
       const works::RecurringFault& fault,
       std::span<const works::HeardPlay> plays)
      : family_{family}, fault_{fault}, heard_{place_heard(family, fault, plays)} {
    for (const auto* cause : all_causes()) shares_[{cause->level, cause->id}] = cause->posterior;
    grow();
    mark_below();
    for (int spared = 0; spared < 4 && rows() > most_rows(); ++spared) thin(spared);
    place();
  }

  [[nodiscard]] const std::vector<Node>& nodes() const { return nodes_; }
  [[nodiscard]] const std::vector<std::size_t>& roots() const { return roots_; }
  [[nodiscard]] double row() const { return row_; }

  /// Causes that are no part of the family's metal.
  [[nodiscard]] std::string elsewhere() const {
    std::string text;
    for (const auto* cause : all_causes()) {
      const bool drawn = cause->level <= works::CauseLevel::mounting && known_.contains(cause->id);
      if (drawn || cause->posterior < worth_showing) continue;
      text += fmt::format(
          "{}{} {}", text.empty() ? "" : ", ", named(*cause), percent(cause->posterior));
    }
    return text;
  }

 private:
  static std::size_t column_of(works::FamilyPartKind kind) {
    return static_cast<std::size_t>(kind);
  }
  static works::CauseLevel level_of(std::size_t column) {
    return static_cast<works::CauseLevel>(column);
  }
  static std::size_t most_rows() { return static_cast<std::size_t>((bottom - top) / least_row); }

  [[nodiscard]] std::vector<const works::Cause*> all_causes() const {
    std::vector<const works::Cause*> causes{&fault_.cause};
    for (const auto& one : fault_.alternatives) causes.push_back(&one);
    return causes;
  }

  std::size_t add(const std::string& id, std::size_t column) {
    Node node{.id = id, .column = column};
    const auto share = shares_.find({level_of(column), id});
    if (share != shares_.end()) node.share = share->second;
    node.is_cause = fault_.cause.level == level_of(column) && fault_.cause.id == id;
    nodes_.push_back(node);
    known_.insert(id);
    return nodes_.size() - 1;
  }

  void grow() {
    std::map<std::string, std::size_t> parts;
    std::vector<const works::FamilyPart*> order;
    for (const auto& part : family_.parts) order.push_back(&part);
    std::ranges::stable_sort(order, [](const auto* a, const auto* b) {
      return std::pair{a->kind, a->grown.value_or(0)} < std::pair{b->kind, b->grown.value_or(0)};
    });
    for (const auto* part : order)
      if (serves(*part)) parts.emplace(part->id, add(part->id, column_of(part->kind)));
    for (const auto* part : order) {
      const auto own = parts.find(part->id), parent = parts.find(part->parent);
      if (own == parts.end()) continue;
      // A parent of a later kind would close a circle: the family's fault, and no picture's.
      if (parent == parts.end() || nodes_[parent->second].column >= nodes_[own->second].column)
        roots_.push_back(own->second);
      else
        nodes_[parent->second].children.push_back(own->second);
    }
    hang_mountings(parts);
    for (const std::size_t root : roots_) count(root);
  }

  /// A stamper of the other side's is none of this fault's.
  [[nodiscard]] bool serves(const works::FamilyPart& part) const {
    if (part.kind != works::FamilyPartKind::stamper) return true;
    if (stampers_.empty())
      for (const auto& disc : family_.discs)
        for (const auto side : {works::DiscSide::A, works::DiscSide::B})
          if (!disc.stamper_of(side).empty())
            stampers_[disc.stamper_of(side)] |= side == fault_.side;
    const auto known = stampers_.find(part.id);
    return known == stampers_.end() || known->second;
  }

  void hang_mountings(const std::map<std::string, std::size_t>& parts) {
    std::map<std::pair<std::size_t, std::string>, std::size_t> mountings;
    for (std::size_t i = 0; i < family_.discs.size(); ++i) {
      const auto& disc = family_.discs[i];
      const auto stamper = parts.find(disc.stamper_of(fault_.side));
      if (stamper == parts.end()) continue;
      std::size_t node = stamper->second;
      if (!disc.mounting.empty()) {
        const auto [known, is_new] = mountings.try_emplace({node, disc.mounting}, nodes_.size());
        if (is_new) {
          add(disc.mounting, 4);
          nodes_.back().beside = disc.press;
          nodes_[node].children.push_back(known->second);
        }
        node = known->second;
      }
      nodes_[node].heard += heard_[i] != PlaceHeard::not_heard;
      nodes_[node].faulty += heard_[i] == PlaceHeard::fault;
    }
  }

  void count(std::size_t at) {
    for (const std::size_t child : nodes_[at].children) {
      count(child);
      nodes_[at].heard += nodes_[child].heard;
      nodes_[at].faulty += nodes_[child].faulty;
    }
  }

  void mark_below() {
    std::vector<std::size_t> open = roots_;
    while (!open.empty()) {
      const std::size_t at = open.back();
      open.pop_back();
      for (const std::size_t child : nodes_[at].children) {
        nodes_[child].below_cause = nodes_[at].is_cause || nodes_[at].below_cause;
        open.push_back(child);
      }
    }
  }

  [[nodiscard]] bool matters(std::size_t at) const {
    const Node& node = nodes_[at];
    return node.is_cause || node.share >= worth_showing || node.faulty > 0 ||
           std::ranges::any_of(node.children, [&](std::size_t child) { return matters(child); });
  }

  /// Leaves out, in turn: mountings of what does not matter; mountings that are no cause; stampers
  /// that do not matter; whatever is over.
  void thin(int step) {
    for (std::size_t at = 0; at < nodes_.size(); ++at) {
      const std::size_t column = nodes_[at].column;
      const auto spared = [&](std::size_t child) {
        const Node& node = nodes_[child];
        if (node.left_out > 0) return true;
        if (step == 0) return !(node.column == 4 && !matters(at));
        if (step == 1) return !(node.column == 4 && node.share < worth_showing && !node.is_cause);
        if (step == 2) return node.column < 2 || matters(child);
        return node.share >= last_resort || node.is_cause || node.column < 2;
      };
      const auto cut = std::ranges::stable_partition(nodes_[at].children, spared);
      const int gone = static_cast<int>(cut.size());
      nodes_[at].children.erase(cut.begin(), cut.end());
      if (gone == 0 || column == 3) continue;
      nodes_.push_back({.column = column + 1, .left_out = gone});
      nodes_[at].children.push_back(nodes_.size() - 1);
    }
  }

  [[nodiscard]] std::size_t leaves(std::size_t at) const {
    std::size_t sum = 0;
    for (const std::size_t child : nodes_[at].children) sum += leaves(child);
    return std::max<std::size_t>(sum, 1);
  }
  [[nodiscard]] std::size_t rows() const {
    std::size_t sum = 0;
    for (const std::size_t root : roots_) sum += leaves(root);
    return sum;
  }

  void place() {
    const auto count = static_cast<double>(std::max<std::size_t>(rows(), 1));
    row_ = std::min(most_row, (bottom - top) / count);
    double next = top + 0.5 * row_;
    for (const std::size_t root : roots_) place(root, next);
  }

  void place(std::size_t at, double& next) {
    if (nodes_[at].children.empty()) {
      nodes_[at].y = next;
      next += row_;
      return;
    }
    for (const std::size_t child : nodes_[at].children) place(child, next);
    nodes_[at].y =
        0.5 * (nodes_[nodes_[at].children.front()].y + nodes_[nodes_[at].children.back()].y);
  }

  const works::Family& family_;
  const works::RecurringFault& fault_;
  std::vector<PlaceHeard> heard_;
  std::map<std::pair<works::CauseLevel, std::string>, double> shares_{};
  mutable std::map<std::string, bool> stampers_{};
  std::vector<Node> nodes_{};
  std::vector<std::size_t> roots_{};
  std::set<std::string> known_{};
  double row_{};
};

class Drawing {
 public:
  Drawing(Canvas& canvas, const Tree& tree, const Palette& colours)
      : canvas_{canvas}, tree_{tree}, colours_{colours} {}

  void draw() {
    for (const auto& column : columns)
      canvas_.text(column.head,
                   {column.x, 98.0},
                   {.size = 15.0, .colour = colours_.quiet_ink, .bold = true});
    for (const std::size_t root : tree_.roots()) branches(root);
    for (const std::size_t root : tree_.roots()) boxes(root);
  }

 private:
  [[nodiscard]] const Node& node(std::size_t at) const { return tree_.nodes()[at]; }
  [[nodiscard]] double height() const { return std::min(34.0, tree_.row() - 3.0); }

  void branches(std::size_t at) {
    const Node& from = node(at);
    for (const bool copper : {false, true})
      for (const std::size_t child : from.children)
        if (node(child).below_cause == copper) branch(from, node(child));
    for (const std::size_t child : from.children) branches(child);
  }

  void branch(const Node& from, const Node& to) {
    cairo_t* pen = canvas_.pen();
    const double x0 = columns[from.column].x + columns[from.column].width,
                 x1 = columns[to.column].x;
    const double turn = x1 - 20.0;
    canvas_.ink(to.below_cause ? colours_.copper : colours_.quiet_ink);
    cairo_set_line_width(pen, to.below_cause ? 3.0 : 1.0);
    cairo_set_line_join(pen, CAIRO_LINE_JOIN_ROUND);
    cairo_new_path(pen);
    cairo_move_to(pen, x0, from.y);
    cairo_line_to(pen, turn, from.y);
    cairo_line_to(pen, turn, to.y);
    cairo_line_to(pen, x1, to.y);
    cairo_stroke(pen);
  }

  void boxes(std::size_t at) {
    box(node(at));
    for (const std::size_t child : node(at).children) boxes(child);
  }

  void box(const Node& one) {
    const Column& column = columns[one.column];
    const double y = one.y - 0.5 * height();
    if (one.left_out > 0) {
      canvas_.text(fmt::format("and {} more without it", one.left_out),
                   {column.x + 6.0, one.y - 9.0},
                   {.size = 13.0, .colour = colours_.quiet_ink});
      return;
    }
    cairo_t* pen = canvas_.pen();
    cairo_new_path(pen);
    cairo_rectangle(pen, column.x, y, column.width, height());
    canvas_.ink(colours_.raised);
    cairo_fill_preserve(pen);
    canvas_.ink(one.is_cause || one.below_cause ? colours_.copper : colours_.quiet_ink);
    cairo_set_line_width(pen, one.is_cause ? 4.0 : one.below_cause ? 2.0 : 1.0);
    cairo_stroke(pen);
    share_bar(one, column, y);
    texts(one, column);
  }

  /// Along the foot of the box: the share of probability that this one did it.
  void share_bar(const Node& one, const Column& column, double y) {
    if (one.share < worth_showing) return;
    cairo_t* pen = canvas_.pen();
    canvas_.ink(colours_.copper);
    cairo_new_path(pen);
    cairo_rectangle(pen, column.x, y + height() - 4.0, column.width * one.share, 4.0);
    cairo_fill(pen);
  }

  void texts(const Node& one, const Column& column) {
    const double size = height() > 24.0 ? 14.0 : 13.0, y = one.y - 0.66 * size;
    double left = column.x + 8.0;
    if (one.column >= 3) {
      const auto heard = one.faulty > 0  ? PlaceHeard::fault
                         : one.heard > 0 ? PlaceHeard::clean
                                         : PlaceHeard::not_heard;
      draw_standing(canvas_, shape(heard), {left + 6.0, one.y}, 5.5, colours_);
      left += 18.0;
    }
    double right = column.x + column.width - 8.0;
    if (one.share >= worth_showing) {
      const Box box = canvas_.text(percent(one.share),
                                   {right, y},
                                   {.size = size, .colour = colours_.copper, .bold = true},
                                   Align::right);
      right = box.x - 8.0;
    }
    if (one.column >= 3 && one.heard > 0) {
      const Box box = canvas_.text(fmt::format("{} of {}", one.faulty, one.heard),
                                   {right, y},
                                   {.size = size, .colour = colours_.ink},
                                   Align::right);
      right = box.x - 8.0;
    }
    const std::string name = one.beside.empty() ? one.id : one.id + " · " + one.beside;
    canvas_.text(name,
                 {left, y},
                 {.size = size,
                  .colour = one.is_cause ? colours_.copper : colours_.ink,
                  .bold = one.is_cause,
                  .ellipsis_width = right - left});
  }

  Canvas& canvas_;
  const Tree& tree_;
  const Palette& colours_;
};

void draw_foot(Canvas& canvas, const Tree& tree, const Palette& colours) {
  const double y = 808.0;
  const double x = draw_heard_key(canvas, {trace_margin, y}, colours);
  cairo_t* pen = canvas.pen();
  canvas.ink(colours.copper);
  cairo_new_path(pen);
  cairo_rectangle(pen, x, y + 7.0, 34.0, 4.0);
  cairo_fill(pen);
  const Box key = canvas.text("chance that it did it, of 100 %; thick lines: what it touched",
                              {x + 42.0, y},
                              {.size = 14.0, .colour = colours.ink});
  canvas.text("3 of 5: fault on 3 of 5 heard there",
              {key.x + key.width + 22.0, y},
              {.size = 14.0, .colour = colours.ink});
  if (const std::string elsewhere = tree.elsewhere(); !elsewhere.empty())
    canvas.text("Not of this metal: " + elsewhere,
                {trace_margin, 776.0},
                {.size = 15.0,
                 .colour = colours.ink,
                 .bold = true,
                 .ellipsis_width = trace_width - 2.0 * trace_margin});
}

Outcome draw(Canvas& canvas,
             const works::Family& family,
             const works::RecurringFault& fault,
             std::span<const works::HeardPlay> plays,
             const TracePictureOptions& options) {
  if (family.parts.empty())
    return Error{Fault::bad_input, "the family has no parts, so there is no tree to draw"};
  const Tree tree{family, fault, plays};
  draw_trace_head(canvas, fault, options);
  Drawing{canvas, tree, palette_of(options)}.draw();
  draw_foot(canvas, tree, palette_of(options));
  return Done{};
}

/// Draws on a canvas all that is to be seen of a fault.
auto drawing_of(const works::Family& family,
                const works::RecurringFault& fault,
                std::span<const works::HeardPlay> plays,
                const TracePictureOptions& options) {
  return [&, plays](Canvas& canvas) { return draw(canvas, family, fault, plays, options); };
}

}  // namespace

Result<std::string> family_tree(const works::Family& family,
                                const works::RecurringFault& fault,
                                std::span<const works::HeardPlay> plays,
                                const TracePictureOptions& options) {
  return trace_picture(options, drawing_of(family, fault, plays, options), finished);
}

Result<std::vector<PlacedText>> family_tree_texts(const works::Family& family,
                                                  const works::RecurringFault& fault,
                                                  std::span<const works::HeardPlay> plays,
                                                  const TracePictureOptions& options) {
  return trace_picture(options, drawing_of(family, fault, plays, options), placed_texts);
}

}  // namespace goodside::draw
