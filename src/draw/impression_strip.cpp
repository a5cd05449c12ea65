#include "draw/impression_strip.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "draw/marks.hpp"
#include "draw/place_heard.hpp"
#include "draw/plot_frame.hpp"
#include "draw/trace_words.hpp"

namespace goodside::draw {
namespace {

constexpr double left = 190.0, right = 1158.0, top = 148.0, bottom = 690.0;
constexpr double least_lane = 22.0, most_lane = 140.0;
constexpr std::array<double, 3> mark_sizes{6.0, 5.0, 4.0};

struct Mark {
  double low{}, high{};  ///< impressions
  PlaceHeard heard{};
};

struct Lane {
  std::string stamper{};
  std::vector<works::Impressions> pressed{};  ///< as its discs tell, a mounting each
  std::vector<Mark> marks{};
  bool touched{};  ///< the cause can have put the fault on what it presses
  int faulty{}, heard{};
};

class Strip {
 public:
  Strip(const works::Family& family,
        const works::RecurringFault& fault,
        std::span<const works::HeardPlay> plays)
      : fault_{fault} {
    const auto heard = place_heard(family, fault, plays);
    const auto touched = touched_stampers(family);
    std::map<std::string, std::size_t> numbers;
    std::map<std::pair<std::size_t, std::string>, works::Impressions> mountings;
    for (std::size_t i = 0; i < family.discs.size(); ++i) {
      const auto& disc = family.discs[i];
      if (!disc.impression) {
        ++unknown_;
        unknown_faulty_ += heard[i] == PlaceHeard::fault;
        continue;
      }
      const std::string& stamper = disc.stamper_of(fault.side);
      const auto [known, is_new] = numbers.try_emplace(stamper, lanes_.size());
      if (is_new) lanes_.push_back({.stamper = stamper, .touched = touched.contains(stamper)});
      Lane& lane = lanes_[known->second];
      lane.marks.push_back({static_cast<double>(disc.impression->first),
                            static_cast<double>(disc.impression->last),
                            heard[i]});
      lane.heard += heard[i] != PlaceHeard::not_heard;
      lane.faulty += heard[i] == PlaceHeard::fault;
      auto& range =
          mountings.try_emplace({known->second, disc.mounting}, *disc.impression).first->second;
      range.first = std::min(range.first, disc.impression->first);
      range.last = std::max(range.last, disc.impression->last);
    }
    for (const auto& [whose, range] : mountings) lanes_[whose.first].pressed.push_back(range);
    for (const auto& disc : family.discs)
      if (!fault.next.empty() && disc.id == fault.next.front().disc && disc.impression)
        next_ = {disc.id, disc.stamper_of(fault.side), *disc.impression};
    in_order();
    leave_out();
  }

  struct Next {
    std::string disc, stamper;
    works::Impressions impression;
  };

  [[nodiscard]] const std::vector<Lane>& lanes() const { return lanes_; }
  [[nodiscard]] int unknown() const { return unknown_; }
  [[nodiscard]] int unknown_faulty() const { return unknown_faulty_; }
  [[nodiscard]] int left_out() const { return left_out_; }
  [[nodiscard]] const std::optional<Next>& next() const { return next_; }
  [[nodiscard]] double lane_height() const {
    return std::min(most_lane, (bottom - top) / static_cast<double>(lanes_.size()));
  }
  [[nodiscard]] works::Impressions reach() const {
    works::Impressions whole = lanes_.front().pressed.front();
    for (const auto& lane : lanes_)
      for (const auto& range : lane.pressed) {
        whole.first = std::min(whole.first, range.first);
        whole.last = std::max(whole.last, range.last);
      }
    for (const auto& range : fault_.suspect.impressions)
      whole.last = std::max(whole.last, range.last);
    return whole;
  }

 private:
  /// Stampers below the cause, or the one that it is, or all where it is no metal.
  [[nodiscard]] std::set<std::string> touched_stampers(const works::Family& family) const {
    std::set<std::string> result;
    const auto& cause = fault_.cause;
    if (cause.level > works::CauseLevel::stamper) {
      for (const auto& disc : family.discs)
        if (cause.level != works::CauseLevel::mounting || disc.mounting == cause.id)
          result.insert(disc.stamper_of(fault_.side));
      return result;
    }
    std::map<std::string, const works::FamilyPart*> parts;
    for (const auto& part : family.parts) parts.emplace(part.id, &part);
    for (const auto& part : family.parts) {
      auto at = parts.find(part.id);
      for (int steps = 0; steps < 8 && at != parts.end(); ++steps) {
        if (at->first == cause.id) result.insert(part.id);
        at = parts.find(at->second->parent);
      }
    }
    return result;
  }

  void in_order() {
    for (Lane& lane : lanes_) std::ranges::sort(lane.pressed);
    std::ranges::stable_sort(lanes_, [](const Lane& a, const Lane& b) {
      return a.pressed.front().first < b.pressed.front().first;
    });
  }

  void leave_out() {
    const auto most = static_cast<std::size_t>((bottom - top) / least_lane);
    if (lanes_.size() <= most) return;
    const std::size_t before = lanes_.size();
    std::erase_if(lanes_, [](const Lane& lane) { return lane.faulty == 0 && !lane.touched; });
    std::ranges::stable_sort(lanes_,
                             [](const Lane& a, const Lane& b) { return a.faulty > b.faulty; });
    if (lanes_.size() > most) lanes_.resize(most);
    in_order();
    left_out_ = static_cast<int>(before - lanes_.size());
  }

  const works::RecurringFault& fault_;
  std::vector<Lane> lanes_{};
  std::optional<Next> next_{};
  int unknown_{}, unknown_faulty_{}, left_out_{};
};

class Drawing {
 public:
  Drawing(Canvas& canvas,
          const Strip& strip,
          const works::RecurringFault& fault,
          const Palette& colours)
      : canvas_{canvas},
        strip_{strip},
        fault_{fault},
        colours_{colours},
        axis_{round_axis(0.0, static_cast<double>(strip.reach().last), "")} {
    // The largest marks that nowhere lie on one another.
    for (const double size : mark_sizes) {
      mark_ = size;
      if (std::ranges::none_of(strip.lanes(),
                               [&](const Lane& one) { return in_rows(one).crowded; }))
        break;
    }
  }

  void draw() {
    grid();
    onset();
    for (std::size_t i = 0; i < strip_.lanes().size(); ++i) lane(i);
    next();
    suspect();
    axis();
    foot();
  }

 private:
  [[nodiscard]] double x(double impression) const {
    return left + (right - left) * axis_.share(impression);
  }
  [[nodiscard]] double lane_top(std::size_t i) const {
    return top + strip_.lane_height() * static_cast<double>(i);
  }
  [[nodiscard]] double floor() const { return lane_top(strip_.lanes().size()); }
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }

  void bar(double x0, double y0, double width, double height) {
    cairo_new_path(pen());
    cairo_rectangle(pen(), x0, y0, width, height);
    cairo_fill(pen());
  }

  void grid() {
    canvas_.ink(colours_.line);
    for (const auto& tick : axis_.ticks) bar(x(tick.value) - 0.5, top, 1.0, floor() - top);
  }

  /// A band over the lanes that the cause can have touched, the best guess a line, said above.
  void onset() {
    const auto& cause = fault_.cause;
    if (!cause.onset) return;
    const auto& [low, high, best] = *cause.onset;
    const double from = x(static_cast<double>(low)) - 1.5, to = x(static_cast<double>(high)) + 1.5;
    for (std::size_t i = 0; i < strip_.lanes().size(); ++i) {
      if (!strip_.lanes()[i].touched) continue;
      canvas_.ink(colours_.copper, 0.28);
      bar(from, lane_top(i), to - from, strip_.lane_height());
    }
    canvas_.ink(colours_.copper);
    bar(x(static_cast<double>(best)) - 1.0, top - 12.0, 2.0, floor() - top + 12.0);
    bar(from, top - 12.0, to - from, 3.0);
    const std::string text = low == high
                                 ? fmt::format("begins at {}", best)
                                 : fmt::format("begins at {}, 90 %: {} to {}", best, low, high);
    const TextStyle style{.size = 15.0, .colour = colours_.copper, .bold = true};
    Box box =
        canvas_.measure(text, {x(static_cast<double>(best)), top - 34.0}, style, Align::centre);
    box.x = std::clamp(box.x, left - 50.0, trace_width - trace_margin - box.width);
    canvas_.text(text, {box.x, box.y}, style);
  }

  void lane(std::size_t i) {
    const Lane& one = strip_.lanes()[i];
    const double middle = lane_top(i) + 0.5 * strip_.lane_height();
    canvas_.ink(colours_.line);
    bar(left, lane_top(i) + strip_.lane_height() - 0.5, right - left, 1.0);
    canvas_.ink(one.touched ? colours_.copper : colours_.quiet_ink, 0.55);
    for (const auto& range : one.pressed) {
      const double from = x(static_cast<double>(range.first)),
                   to = x(static_cast<double>(range.last));
      bar(from, middle - 1.5, std::max(to - from, 2.0), 3.0);
    }
    label(one, middle);
    marks(one, middle);
  }

  void label(const Lane& one, double middle) {
    const double size = strip_.lane_height() > 26.0 ? 14.0 : 13.0, y = middle - 0.66 * size;
    const Box count = canvas_.text(fmt::format("{} of {}", one.faulty, one.heard),
                                   {left - 12.0, y},
                                   {.size = size, .colour = colours_.ink},
                                   Align::right);
    canvas_.text(one.stamper.empty() ? "stamper not known" : one.stamper,
                 {trace_margin, y},
                 {.size = size,
                  .colour = one.touched ? colours_.copper : colours_.ink,
                  .bold = one.touched,
                  .ellipsis_width = count.x - 8.0 - trace_margin});
  }

  struct Rows {
    struct Placed {
      double x{}, above{};  ///< from the lane's middle
      const Mark* what{};
    };
    std::vector<Placed> placed{};
    bool crowded{};
  };

  /// Marks that would lie on one another stand in rows about the middle.
  [[nodiscard]] Rows in_rows(const Lane& one) const {
    const int rows = std::max(1, static_cast<int>((strip_.lane_height() - 6.0) / (2.0 * mark_)));
    std::vector<double> taken(static_cast<std::size_t>(rows), -1e9);
    std::vector<const Mark*> order;
    for (const Mark& what : one.marks) order.push_back(&what);
    std::ranges::stable_sort(
        order, [](const Mark* a, const Mark* b) { return a->low + a->high < b->low + b->high; });
    Rows result;
    for (const Mark* what : order) {
      const double at = x(0.5 * (what->low + what->high));
      std::size_t row = 0;
      while (row + 1 < taken.size() && at - taken[row] < 2.0 * mark_) ++row;
      if (at - taken[row] < 2.0 * mark_) {
        result.crowded = true;
        row = static_cast<std::size_t>(std::ranges::min_element(taken) - taken.begin());
      }
      taken[row] = at;
      // 0, +1, -1, +2 … from the middle.
      const double step =
          row % 2 == 0 ? -0.5 * static_cast<double>(row) : 0.5 * static_cast<double>(row + 1);
      result.placed.push_back({at, step * 2.0 * mark_, what});
    }
    return result;
  }

  /// Faults are set last, and so lie on top where even the rows are full.
  void marks(const Lane& one, double middle) {
    const Rows rows = in_rows(one);
    for (const auto now : {PlaceHeard::not_heard, PlaceHeard::clean, PlaceHeard::fault})
      for (const auto& [at, above, what] : rows.placed)
        if (what->heard == now) disc(*what, {at, middle + above});
  }

  void disc(const Mark& what, Point at) {
    if (what.high > what.low) {
      canvas_.ink(standing_colour(shape(what.heard), colours_));
      bar(x(what.low), at.y - 0.75, x(what.high) - x(what.low), 1.5);
    }
    canvas_.ink(colours_.ground);
    cairo_new_path(pen());
    cairo_arc(pen(), at.x, at.y, mark_, 0.0, 6.3);
    cairo_fill(pen());
    draw_standing(canvas_,
                  shape(what.heard),
                  at,
                  what.heard == PlaceHeard::fault ? mark_ : 0.75 * mark_,
                  colours_);
  }

  void next() {
    if (!strip_.next()) return;
    const auto& next = *strip_.next();
    for (std::size_t i = 0; i < strip_.lanes().size(); ++i) {
      if (strip_.lanes()[i].stamper != next.stamper) continue;
      const double at = x(0.5 * static_cast<double>(next.impression.first + next.impression.last));
      const double middle = lane_top(i) + 0.5 * strip_.lane_height();
      canvas_.ink(colours_.ink);
      cairo_set_line_width(pen(), 2.0);
      cairo_new_path(pen());
      cairo_arc(pen(), at, middle, mark_ + 5.0, 0.0, 6.3);
      cairo_stroke(pen());
    }
  }

  void suspect() {
    const double y = floor() + 40.0;
    if (fault_.suspect.impressions.empty()) return;
    canvas_.text(
        "suspect stock", {trace_margin, y}, {.size = 14.0, .colour = colours_.ink, .bold = true});
    canvas_.ink(colours_.line);
    bar(left, y + 8.0, right - left, 1.0);
    for (const auto& range : fault_.suspect.impressions) {
      const double from = x(static_cast<double>(range.first) - 0.5);
      const double to = x(static_cast<double>(range.last) + 0.5);
      draw_suspect_hatch(canvas_, {from, y, std::max(to - from, 3.0), 18.0}, colours_);
    }
  }

  void axis() {
    for (const auto& tick : axis_.ticks)
      if (!tick.text.empty())
        canvas_.text(tick.text,
                     {x(tick.value), floor() + 5.0},
                     {.size = 13.0, .colour = colours_.quiet_ink},
                     Align::centre);
    canvas_.text(
        "impressions", {trace_margin, floor() + 5.0}, {.size = 14.0, .colour = colours_.quiet_ink});
    canvas_.text("stampers",
                 {trace_margin, top - 34.0},
                 {.size = 15.0, .colour = colours_.quiet_ink, .bold = true});
  }

  void foot() {
    std::vector<std::string> lines;
    if (strip_.next()) {
      const auto& [disc, stamper, impression] = *strip_.next();
      lines.push_back(fmt::format(
          "Hear next{}: disc {}, impression {}",
          std::ranges::find(strip_.lanes(), stamper, &Lane::stamper) == strip_.lanes().end()
              ? ""
              : " (ringed)",
          disc,
          impression.first == impression.last
              ? std::to_string(impression.first)
              : fmt::format("{} to {}", impression.first, impression.last)));
    }
    std::string rest;
    if (strip_.unknown() > 0)
      rest = fmt::format("{} discs of unknown impression, {} with the fault",
                         strip_.unknown(),
                         strip_.unknown_faulty());
    if (strip_.left_out() > 0)
      rest += fmt::format(
          "{}{} stampers without it not shown", rest.empty() ? "" : "; ", strip_.left_out());
    if (!rest.empty()) lines.push_back(rest);
    double y = floor() + 68.0;
    for (std::size_t i = 0; i < lines.size(); ++i, y += 22.0)
      canvas_.text(lines[i],
                   {trace_margin, y},
                   {.size = 15.0,
                    .colour = i == 0 && strip_.next() ? colours_.ink : colours_.quiet_ink,
                    .bold = i == 0 && strip_.next().has_value(),
                    .ellipsis_width = trace_width - 2.0 * trace_margin});
    const double end = draw_heard_key(canvas_, {trace_margin, 808.0}, colours_);
    canvas_.text(
        "copper: what the cause touched; band: where it begins; 3 of 5: fault on 3 of 5 heard",
        {end, 808.0},
        {.size = 14.0, .colour = colours_.ink});
  }

  Canvas& canvas_;
  const Strip& strip_;
  const works::RecurringFault& fault_;
  const Palette& colours_;
  Axis axis_;
  double mark_{};
};

Outcome draw(Canvas& canvas,
             const works::Family& family,
             const works::RecurringFault& fault,
             std::span<const works::HeardPlay> plays,
             const TracePictureOptions& options) {
  const Strip strip{family, fault, plays};
  if (strip.lanes().empty())
    return Error{Fault::bad_input, "no disc's impression is known, so there is no strip to draw"};
  draw_trace_head(canvas, fault, options);
  Drawing{canvas, strip, fault, palette_of(options)}.draw();
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

Result<std::string> impression_strip(const works::Family& family,
                                     const works::RecurringFault& fault,
                                     std::span<const works::HeardPlay> plays,
                                     const TracePictureOptions& options) {
  return trace_picture(options, drawing_of(family, fault, plays, options), finished);
}

Result<std::vector<PlacedText>> impression_strip_texts(const works::Family& family,
                                                       const works::RecurringFault& fault,
                                                       std::span<const works::HeardPlay> plays,
                                                       const TracePictureOptions& options) {
  return trace_picture(options, drawing_of(family, fault, plays, options), placed_texts);
}

}  // namespace goodside::draw
