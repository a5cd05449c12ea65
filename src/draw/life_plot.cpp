#include "draw/life_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "draw/words.hpp"

namespace goodside::draw {
namespace {

using works::LifeGroup;
using works::LifeLawPoint;

constexpr double curve_points = 240.0;

const LifeGroup* all_of(const works::LifeReport& report) {
  const auto found = std::ranges::find(report.groups, std::string{"all"}, &LifeGroup::by);
  return found == report.groups.end() || found->curve.empty() ? nullptr : &*found;
}

/// log of the accumulated hazard at a share: straight over the log of the age where a law is Weibull.
double log_hazard(double share) {
  return std::log(-std::log1p(-share));
}

/// The share ended at an age along one edge of the band, or along the law itself: straight between
/// its points on Weibull's paper, and on beyond them.
class Edge {
 public:
  template <class Age>
  Edge(const std::vector<LifeLawPoint>& law, const Age& age) {
    for (const auto& point : law)
      if (const std::optional<double> at = age(point.closings); at && *at > 0.0)
        places_.push_back({std::log(*at), log_hazard(point.share)});
  }
  [[nodiscard]] bool drawn() const { return places_.size() > 1; }
  [[nodiscard]] double ended(double age) const {
    if (age <= 0.0) return 0.0;
    const double x = std::log(age);
    std::size_t i = 1;
    while (i + 1 < places_.size() && places_[i].x < x) ++i;
    const Point &a = places_[i - 1], &b = places_[i];
    const double slope = b.x > a.x ? (b.y - a.y) / (b.x - a.x) : 0.0;
    return -std::expm1(-std::exp(a.y + slope * (x - a.x)));
  }

 private:
  std::vector<Point> places_;
};

class Drawing {
 public:
  Drawing(Canvas& canvas, const LifeGroup& group, const PlotOptions& options)
      : canvas_{canvas},
        group_{group},
        colours_{options.dark ? dark_palette : light_palette},
        longest_{longest(group)},
        frame_{canvas,
               colours_,
               {90.0, 148.0, plot_width - 120.0, plot_height - 148.0 - 62.0},
               round_axis(0.0, longest_, "closings"),
               shares()} {
    head(options);
  }

  void draw() {
    frame_.draw();
    frame_.clip();
    band();
    curve();
    law();
    frame_.unclip();
    pull();
    key();
  }

 private:
  static double longest(const LifeGroup& group) {
    double most = 1.0;
    for (const auto& step : group.curve)
      for (const double age : {step.above_closings, step.to_closings})
        if (std::isfinite(age)) most = std::max(most, age);
    if (group.pull && group.pull->closings) most = std::max(most, *group.pull->closings);
    return 1.12 * most;
  }
  static Axis shares() {
    Axis axis{0.0, 1.0, {}, "share still good", false};
    for (const int percent : {0, 20, 40, 60, 80, 100})
      axis.ticks.push_back({percent / 100.0, fmt::format("{} %", percent)});
    return axis;
  }
  [[nodiscard]] cairo_t* pen() const { return canvas_.pen(); }

  void head(const PlotOptions& options) {
    std::string title = "Stampers' lives";
    if (group_.pull)
      title += group_.pull->closings
                   ? fmt::format(": pull at {} closings", closings(*group_.pull->closings))
                   : ": pulling early does not pay";
    canvas_.text(title, {30.0, 18.0}, {.size = 26.0, .colour = colours_.ink, .bold = true});
    std::string whose = options.title;
    for (const std::string& part :
         {options.date,
          fmt::format("{} stampers, {} ended, {} still good or withdrawn good",
                      group_.stampers,
                      group_.ended,
                      group_.stampers - group_.ended)})
      if (!part.empty()) whose += (whose.empty() ? "" : " · ") + part;
    canvas_.text(whose,
                 {30.0, 54.0},
                 {.size = 15.0, .colour = colours_.quiet_ink, .ellipsis_width = plot_width - 60.0});
  }

  void path_of(const Edge& edge, bool back) {
    for (double k = 0.0; k <= curve_points; k += 1.0) {
      const double age = longest_ * (back ? curve_points - k : k) / curve_points;
      const Point at = frame_.at(age, 1.0 - edge.ended(age));
      cairo_line_to(pen(), at.x, at.y);
    }
  }

  void band() {
    const Edge low{group_.law, [](const auto& one) { return one.low; }};
    const Edge high{group_.law, [](const auto& one) { return one.high; }};
    if (!low.drawn()) return;
    canvas_.ink(colours_.copper, 0.18);
    cairo_new_path(pen());
    path_of(low, false);
    if (high.drawn()) {
      path_of(high, true);
    } else {  // open upwards: nothing says that any need ever end
      for (const double age : {longest_, 0.0}) {
        const Point at = frame_.at(age, 1.0);
        cairo_line_to(pen(), at.x, at.y);
      }
    }
    cairo_fill(pen());
  }

  void law() {
    const Edge best{group_.law, [](const auto& one) { return std::optional{one.value}; }};
    if (!best.drawn()) return;
    canvas_.ink(colours_.copper);
    cairo_set_line_width(pen(), 2.6);
    cairo_new_path(pen());
    path_of(best, false);
    cairo_stroke(pen());
  }

  /// The two edges of the curve without a law; where they part, nobody knows when in between.
  void curve() {
    for (const bool late : {false, true}) {
      double left = 1.0;
      canvas_.ink(colours_.ink);
      cairo_set_line_width(pen(), late ? 2.0 : 1.2);
      const Point begin = frame_.at(0.0, 1.0);
      cairo_new_path(pen());
      cairo_move_to(pen(), begin.x, begin.y);
      double last = 0.0;
      for (const auto& step : group_.curve) {
        const double age = late ? step.to_closings : step.above_closings;
        if (!std::isfinite(age)) break;
        const Point before = frame_.at(age, left), after = frame_.at(age, left - step.share);
        cairo_line_to(pen(), before.x, before.y);
        cairo_line_to(pen(), after.x, after.y);
        left -= step.share;
        last = age;
      }
      const Point end = frame_.at(std::max(last, far()), left);
      cairo_line_to(pen(), end.x, end.y);
      cairo_stroke(pen());
    }
  }
  /// The curve is known as far as any life is.
  [[nodiscard]] double far() const {
    const auto& last = group_.curve.back();
    return std::isfinite(last.to_closings) ? last.to_closings : last.above_closings;
  }

  void pull() {
    if (!group_.pull || !group_.pull->closings) return;
    const auto& limit = *group_.pull;
    const double bottom = frame_.at(0.0, 0.0).y;
    if (limit.low_closings) {
      const double from = frame_.at(*limit.low_closings, 0.0).x;
      const double to =
          frame_.at(std::min(limit.high_closings.value_or(longest_), longest_), 0.0).x;
      canvas_.ink(colours_.out);
      cairo_new_path(pen());
      cairo_rectangle(pen(), from, bottom - 7.0, to - from, 7.0);
      cairo_fill(pen());
    }
    frame_.limit_line({{*limit.closings, 0.02}, {*limit.closings, 0.97}},
                      fmt::format("pull at {}", closings(*limit.closings)),
                      false);
  }

  void key() {
    struct Entry {
      const char* text;
      bool line, plate;
      Colour ink;
    };
    std::vector<Entry> entries{
        {"as they ended, no law assumed (two edges)", true, false, colours_.ink}};
    if (!group_.law.empty())
      entries.push_back({"Weibull law and its band", true, true, colours_.copper});
    else
      entries.push_back({"no law can be fitted yet", false, false, colours_.quiet_ink});
    if (group_.pull && group_.pull->closings)
      entries.push_back({"pull limits within 1 % of the cheapest", false, true, colours_.out});
    double x = 90.0;
    for (const Entry& entry : entries) {
      const double y = 94.0;
      if (entry.plate) {
        canvas_.ink(entry.ink, entry.line ? 0.25 : 1.0);
        cairo_new_path(pen());
        cairo_rectangle(pen(), x, y + (entry.line ? 3.0 : 6.0), 24.0, entry.line ? 13.0 : 7.0);
        cairo_fill(pen());
      }
      if (entry.line) {
        canvas_.ink(entry.ink);
        cairo_set_line_width(pen(), 2.2);
        cairo_new_path(pen());
        cairo_move_to(pen(), x, y + 9.5);
        cairo_line_to(pen(), x + 24.0, y + 9.5);
        cairo_stroke(pen());
      }
      const double begin = entry.line || entry.plate ? x + 32.0 : x;
      const Box box = canvas_.text(entry.text, {begin, y}, {.size = 14.0, .colour = colours_.ink});
      x = box.x + box.width + 28.0;
    }
  }

  Canvas& canvas_;
  const LifeGroup& group_;
  const Palette& colours_;
  double longest_;
  PlotFrame frame_;
};

Outcome draw(Canvas& canvas, const works::LifeReport& report, const PlotOptions& options) {
  const LifeGroup* const group = all_of(report);
  if (group == nullptr)
    return Error{Fault::bad_input, "the lives hold no curve, so there is nothing to draw"};
  Drawing{canvas, *group, options}.draw();
  return Done{};
}

}  // namespace

Result<std::string> life_plot(const works::LifeReport& report, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  if (const auto drawn = draw(canvas, report, options); !drawn) return drawn.error();
  return canvas.finish();
}

Result<std::vector<PlacedText>> life_plot_texts(const works::LifeReport& report,
                                                const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  Canvas canvas = plot_page(options);
  if (const auto drawn = draw(canvas, report, options); !drawn) return drawn.error();
  return canvas.texts();
}

}  // namespace goodside::draw
