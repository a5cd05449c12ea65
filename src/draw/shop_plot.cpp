#include "draw/shop_plot.hpp"

#include <cairo.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "draw/marks.hpp"

namespace goodside::draw {
namespace {

constexpr double least_named_row = 26.0;  // for a name across the line
constexpr double least_row = 17.0, tallest_row = 30.0, left = 190.0, right = plot_width - 30.0,
                 top = 118.0;
constexpr std::int64_t day_s = 86400;
constexpr double a4_width = 841.89;
constexpr std::size_t most_hills = 14;

Canvas tall_page(const PlotOptions& options, double height) {
  const double width = options.format == PictureFormat::png ? options.width_px : a4_width;
  return {options.format,
          plot_width,
          height,
          width / plot_width,
          (options.dark ? dark_palette : light_palette).ground};
}

std::string day_text(std::int64_t local_s) {
  const std::int64_t z = local_s / day_s + 719468, era = z / 146097, doe = z - era * 146097;
  const std::int64_t yoe = (doe - doe / 1460 + doe / 36524 - doe / 146096) / 365;
  const std::int64_t doy = doe - (365 * yoe + yoe / 4 - yoe / 100), mp = (5 * doy + 2) / 153;
  return fmt::format("{:02}-{:02}", mp < 10 ? mp + 3 : mp - 9, doy - (153 * mp + 2) / 5 + 1);
}

/// Time across the page, with the days ruled.
class TimeAcross {
 public:
  TimeAcross(Canvas& canvas, const Palette& colours, std::int64_t now_s, double from_s, double to_s)
      : canvas_{canvas},
        colours_{colours},
        now_s_{now_s},
        from_s_{from_s},
        to_s_{std::max(to_s, from_s + 3600.0)} {}

  [[nodiscard]] double x(double time_s) const {
    return left + (right - left) * std::clamp((time_s - from_s_) / (to_s_ - from_s_), 0.0, 1.0);
  }

  void rule(double from_y, double to_y) const {
    const double days = (to_s_ - from_s_) / static_cast<double>(day_s);
    const auto step = std::max<std::int64_t>(1, static_cast<std::int64_t>(std::ceil(days / 16.0)));
    const auto first = (now_s_ + static_cast<std::int64_t>(from_s_)) / day_s;
    for (std::int64_t day = first; day * day_s - now_s_ <= static_cast<std::int64_t>(to_s_);
         ++day) {
      const double at_s = static_cast<double>(day * day_s - now_s_);
      if (at_s < from_s_) continue;
      const bool named = (day - first) % step == 0;
      canvas_.ink(colours_.line, named ? 1.0 : 0.45);
      cairo_set_line_width(canvas_.pen(), 1.0);
      cairo_new_path(canvas_.pen());
      cairo_move_to(canvas_.pen(), x(at_s), from_y);
      cairo_line_to(canvas_.pen(), x(at_s), to_y);
      cairo_stroke(canvas_.pen());
      if (named && x(at_s) < right - 20.0)
        canvas_.text(day_text(day * day_s),
                     {x(at_s) + 3.0, from_y - 20.0},
                     {.size = 13.0, .colour = colours_.quiet_ink});
    }
  }

 private:
  Canvas& canvas_;
  const Palette& colours_;
  std::int64_t now_s_;
  double from_s_, to_s_;
};

void head(Canvas& canvas,
          const Palette& colours,
          const std::string& title,
          const std::string& whose) {
  canvas.text(title, {30.0, 18.0}, {.size = 26.0, .colour = colours.ink, .bold = true});
  canvas.text(whose,
              {30.0, 54.0},
              {.size = 15.0, .colour = colours.quiet_ink, .ellipsis_width = plot_width - 60.0});
}

class PlanDrawing {
 public:
  PlanDrawing(const works::ShopPlan& plan, const PlotOptions& options)
      : plan_{plan}, options_{options}, colours_{options.dark ? dark_palette : light_palette} {
    std::set<std::string> seen;
    std::map<std::string, std::vector<std::string>> by_station;
    for (const auto& work : plan.works)
      if (!work.unit.empty() && seen.insert(work.unit).second)
        by_station[work.station].push_back(work.unit);
    // Stations in the order in which the first of their works comes.
    for (const auto& work : plan.works)
      if (const auto found = by_station.find(work.station); found != by_station.end()) {
        std::sort(
            found->second.begin(), found->second.end(), [](const auto& one, const auto& other) {
              return one.size() != other.size() ? one.size() < other.size() : one < other;
            });
        for (const auto& unit : found->second) {
          row_of_[unit] = static_cast<int>(units_.size());
          units_.push_back(unit);
        }
        by_station.erase(found);
      }
    row_ = std::clamp(420.0 / static_cast<double>(std::max<std::size_t>(1, units_.size())),
                      least_row,
                      tallest_row);
    swing_ = 0.36 * row_;
    for (std::size_t k = 0; k < plan.orders.size(); ++k) {
      number_[plan.orders[k].id] = k;
      if (plan.orders[k].late_s() > 0) late_.insert(plan.orders[k].id);
    }
  }

  [[nodiscard]] double height() const {
    return std::max(plot_height, groove_y(static_cast<int>(units_.size())) + 150.0);
  }

  void draw(Canvas& canvas) {
    head(canvas, colours_, title(), whose());
    double from_s = 0.0, to_s = static_cast<double>(plan_.plan.end_s);
    for (const auto& order : plan_.orders)
      if (order.due_s < 2 * plan_.plan.end_s)
        to_s = std::max(to_s, static_cast<double>(order.due_s));
    to_s_ = to_s;
    const TimeAcross time{canvas, colours_, plan_.now_s, from_s, to_s};
    const double foot = groove_y(static_cast<int>(units_.size()));
    time.rule(top - 6.0, foot + 54.0);
    grooves(canvas);
    for (const auto& work : plan_.works) swing_out(canvas, time, work);
    for (const auto& work : plan_.works) name(canvas, time, work);
    orders(canvas, time, foot + 14.0);
    key(canvas, foot + 78.0);
  }

 private:
  [[nodiscard]] double groove_y(int row) const { return top + row_ * (row + 0.5); }

  [[nodiscard]] std::string title() const {
    if (late_.empty()) return "The plan: every order on time";
    return fmt::format("The plan: {} of {} orders late", late_.size(), plan_.orders.size());
  }
  [[nodiscard]] std::string whose() const {
    std::string text = plan_.name;
    const auto add = [&](const std::string& part) { text += (text.empty() ? "" : " · ") + part; };
    add(fmt::format("{} works on {} machines", plan_.works.size(), units_.size()));
    if (!plan_.loads.empty() && plan_.loads.front().waited_s > 0.0)
      add("held up by " + plan_.loads.front().station);
    add("month-day above");
    return text;
  }

  void grooves(Canvas& canvas) {
    canvas.ink(colours_.quiet_ink, 0.55);
    cairo_set_line_width(canvas.pen(), 1.0);
    for (std::size_t k = 0; k < units_.size(); ++k) {
      const double y = groove_y(static_cast<int>(k));
      cairo_new_path(canvas.pen());
      cairo_move_to(canvas.pen(), left, y);
      cairo_line_to(canvas.pen(), right, y);
      cairo_stroke(canvas.pen());
    }
    for (std::size_t k = 0; k < units_.size(); ++k)
      canvas.text(units_[k],
                  {left - 10.0, groove_y(static_cast<int>(k)) - 9.5},
                  {.size = 13.0, .colour = colours_.ink},
                  Align::right);
  }

  void swing_out(Canvas& canvas, const TimeAcross& time, const works::PlannedWork& work) {
    const auto row = row_of_.find(work.unit);
    if (row == row_of_.end() || work.end_s <= 0) return;
    const double y = groove_y(row->second);
    const double from = time.x(static_cast<double>(std::max<std::int64_t>(0, work.start_s)));
    const double to = std::max(from + 1.2, time.x(static_cast<double>(work.end_s)));
    const double side = number_[work.order] % 2 == 0 ? -1.0 : 1.0;
    const bool late = late_.contains(work.order);
    const double slope = std::min(3.0, (to - from) / 3.0);
    cairo_t* pen = canvas.pen();
    const auto shape = [&] {
      cairo_new_path(pen);
      cairo_move_to(pen, from, y);
      cairo_line_to(pen, from + slope, y + side * swing_);
      cairo_line_to(pen, to - slope, y + side * swing_);
      cairo_line_to(pen, to, y);
      cairo_close_path(pen);
    };
    shape();
    if (work.fixed) {
      canvas.ink(colours_.ground);
      cairo_fill(pen);
      shape();
      canvas.ink(late ? colours_.out : colours_.ink);
      cairo_set_line_width(pen, 1.1);
      cairo_stroke(pen);
    } else {
      canvas.ink(late ? colours_.out : colours_.ink, late ? 1.0 : 0.85);
      cairo_fill(pen);
      if (late) hatch(canvas, from + slope, to - slope, y, side);
    }
    if (work.change_s > 0) {
      const double begin = time.x(static_cast<double>(work.start_s - work.change_s));
      canvas.ink(colours_.copper);
      cairo_set_line_width(pen, 3.0);
      const double dash[] = {1.5, 1.5};
      cairo_set_dash(pen, dash, 2, 0.0);
      cairo_new_path(pen);
      cairo_move_to(pen, std::min(begin, from - 1.5), y);
      cairo_line_to(pen, from, y);
      cairo_stroke(pen);
      cairo_set_dash(pen, dash, 0, 0.0);
    }
  }

  /// The order, across the line from where its work swings, where there is room.
  void name(Canvas& canvas, const TimeAcross& time, const works::PlannedWork& work) {
    const auto row = row_of_.find(work.unit);
    if (row == row_of_.end() || work.end_s <= 0 || row_ < least_named_row) return;
    const double from = time.x(static_cast<double>(std::max<std::int64_t>(0, work.start_s)));
    const double to = time.x(static_cast<double>(work.end_s));
    const bool above = number_[work.order] % 2 == 0;
    const TextStyle style{.size = 13.0,
                          .colour = late_.contains(work.order) ? colours_.out : colours_.quiet_ink};
    const Point at{0.5 * (from + to), groove_y(row->second) + (above ? 0.0 : -17.0)};
    const Box box = canvas.measure(work.order, at, style, Align::centre);
    if (box.width > std::max(to - from, 26.0) || box.x < left || !canvas.is_free(box)) return;
    for (const auto& other : plan_.works)
      if (other.unit == work.unit && (number_[other.order] % 2 == 0) != above &&
          time.x(static_cast<double>(other.start_s - other.change_s)) < box.x + box.width &&
          time.x(static_cast<double>(other.end_s)) > box.x)
        return;
    canvas.text(work.order, at, style, Align::centre);
  }

  void hatch(Canvas& canvas, double from, double to, double y, double side) const {
    canvas.ink(colours_.ground);
    cairo_set_line_width(canvas.pen(), 0.9);
    for (double x = from + 3.0; x < to - 1.0; x += 5.0) {
      cairo_new_path(canvas.pen());
      cairo_move_to(canvas.pen(), x, y + side * 1.0);
      cairo_line_to(canvas.pen(), x + 2.0, y + side * (swing_ - 0.5));
      cairo_stroke(canvas.pen());
    }
  }

  void orders(Canvas& canvas, const TimeAcross& time, double y) {
    cairo_t* pen = canvas.pen();
    canvas.text("orders: due",
                {left - 10.0, y - 6.0},
                {.size = 13.0, .colour = colours_.ink},
                Align::right);
    canvas.text(
        "done", {left - 10.0, y + 16.0}, {.size = 13.0, .colour = colours_.ink}, Align::right);
    for (const auto& order : plan_.orders) {
      const double due = time.x(static_cast<double>(order.due_s)),
                   end = time.x(static_cast<double>(order.end_s));
      const bool late = order.late_s() > 0;
      if (static_cast<double>(order.due_s) > to_s_) {
        due_later(canvas, order, y);
        continue;
      }
      canvas.ink(colours_.ink);
      cairo_new_path(pen);
      cairo_move_to(pen, due - 3.5, y - 4.0);
      cairo_line_to(pen, due + 3.5, y - 4.0);
      cairo_line_to(pen, due, y + 4.0);
      cairo_close_path(pen);
      cairo_fill(pen);
      canvas.ink(late ? colours_.out : colours_.line, late ? 1.0 : 0.9);
      cairo_set_line_width(pen, late ? 1.6 : 0.8);
      cairo_new_path(pen);
      cairo_move_to(pen, due, y + 4.0);
      cairo_line_to(pen, end, y + 24.0);
      cairo_stroke(pen);
    }
    for (const auto& order : plan_.orders)
      draw_standing(canvas,
                    order.late_s() > 0 ? Standing::out : Standing::good,
                    {time.x(static_cast<double>(order.end_s)), y + 25.0},
                    4.5,
                    colours_);
    std::vector<const works::PlannedOrder*> worst;
    for (const auto& order : plan_.orders)
      if (order.late_s() > 0) worst.push_back(&order);
    std::stable_sort(worst.begin(), worst.end(), [](const auto* one, const auto* other) {
      return one->late_s() > other->late_s();
    });
    for (std::size_t k = 0; k < std::min<std::size_t>(worst.size(), 12); ++k) {
      const Point at{time.x(static_cast<double>(worst[k]->end_s)), y + 31.0};
      const TextStyle style{.size = 13.0, .colour = colours_.out};
      if (canvas.is_free(canvas.measure(worst[k]->id, at, style, Align::centre)))
        canvas.text(worst[k]->id, at, style, Align::centre);
    }
  }

  /// A due date beyond the page: an arrow at its edge, with the date where there is room.
  void due_later(Canvas& canvas, const works::PlannedOrder& order, double y) const {
    cairo_t* pen = canvas.pen();
    canvas.ink(colours_.ink);
    cairo_new_path(pen);
    cairo_move_to(pen, right - 2.0, y - 4.0);
    cairo_line_to(pen, right + 6.0, y);
    cairo_line_to(pen, right - 2.0, y + 4.0);
    cairo_close_path(pen);
    cairo_fill(pen);
    const std::string text =
        fmt::format("{} due {}", order.id, day_text(plan_.now_s + order.due_s));
    const TextStyle style{.size = 13.0, .colour = colours_.quiet_ink};
    for (double x = right - 8.0; x > left + 200.0; x -= 20.0)
      if (canvas.is_free(canvas.measure(text, {x, y - 9.0}, style, Align::right))) {
        canvas.text(text, {x, y - 9.0}, style, Align::right);
        return;
      }
  }

  void key(Canvas& canvas, double y) {
    cairo_t* pen = canvas.pen();
    canvas.text(
        "Orders swing out above the line and below it by turns, only so that one is told from the "
        "next: the side means nothing else.",
        {left, y + 28.0},
        {.size = 13.0, .colour = colours_.quiet_ink});
    double x = left;
    const auto entry = [&](const std::string& text, const auto& sample) {
      sample(x, y + 12.0);
      const Box box =
          canvas.text(text, {x + 34.0, y + 1.0}, {.size = 13.0, .colour = colours_.ink});
      x = box.x + box.width + 26.0;
    };
    const auto trapeze = [&](double at, double base) {
      cairo_new_path(pen);
      cairo_move_to(pen, at, base);
      cairo_line_to(pen, at + 3.0, base - swing_);
      cairo_line_to(pen, at + 25.0, base - swing_);
      cairo_line_to(pen, at + 28.0, base);
      cairo_close_path(pen);
    };
    entry("at work", [&](double at, double base) {
      trapeze(at, base);
      canvas.ink(colours_.ink, 0.85);
      cairo_fill(pen);
    });
    entry("of an order that is late", [&](double at, double base) {
      trapeze(at, base);
      canvas.ink(colours_.out);
      cairo_fill(pen);
      hatch(canvas, at + 3.0, at + 25.0, base, -1.0);
    });
    entry("fixed", [&](double at, double base) {
      trapeze(at, base);
      canvas.ink(colours_.ink);
      cairo_set_line_width(pen, 1.1);
      cairo_stroke(pen);
    });
    entry("changing over", [&](double at, double base) {
      canvas.ink(colours_.copper);
      cairo_set_line_width(pen, 3.0);
      const double dash[] = {1.5, 1.5};
      cairo_set_dash(pen, dash, 2, 0.0);
      cairo_new_path(pen);
      cairo_move_to(pen, at, base - 3.0);
      cairo_line_to(pen, at + 28.0, base - 3.0);
      cairo_stroke(pen);
      cairo_set_dash(pen, dash, 0, 0.0);
    });
    entry("done on time", [&](double at, double base) {
      draw_standing(canvas, Standing::good, {at + 16.0, base - 3.0}, 4.5, colours_);
    });
    entry("late", [&](double at, double base) {
      draw_standing(canvas, Standing::out, {at + 16.0, base - 3.0}, 4.5, colours_);
    });
  }

  const works::ShopPlan& plan_;
  const PlotOptions& options_;
  const Palette& colours_;
  std::vector<std::string> units_;
  double row_{least_row}, swing_{};  ///< height of a row; how far a groove swings to one side
  double to_s_{};                    ///< the page's right edge
  std::map<std::string, int> row_of_;
  std::map<std::string, std::size_t> number_;
  std::set<std::string> late_;
};

class HillDrawing {
 public:
  HillDrawing(const works::PlanPromise& promise, const PlotOptions& options)
      : promise_{promise}, colours_{options.dark ? dark_palette : light_palette} {
    for (const auto& one : promise.orders) orders_.push_back(&one);
    std::stable_sort(orders_.begin(), orders_.end(), [](const auto* one, const auto* other) {
      return one->on_time < other->on_time;
    });
    if (orders_.size() > most_hills) orders_.resize(most_hills);
  }

  [[nodiscard]] double height() const {
    return std::max(plot_height, top + hill_height() * static_cast<double>(orders_.size()) + 90.0);
  }

  void draw(Canvas& canvas) {
    head(canvas,
         colours_,
         fmt::format("Every order on time: {:.0f} % likely", 100.0 * promise_.all_on_time),
         whose());
    double from_s = 1e18, to_s = 0.0;
    for (const auto* one : orders_) {
      from_s = std::min(
          {from_s, static_cast<double>(one->curve_s.front()), static_cast<double>(one->due_s)});
      to_s =
          std::max({to_s, static_cast<double>(one->curve_s[99]), static_cast<double>(one->due_s)});
    }
    const double pad_s = 0.03 * (to_s - from_s) + 3600.0;
    const TimeAcross time{
        canvas, colours_, promise_.now_s, std::max(0.0, from_s - pad_s), to_s + pad_s};
    const double foot = top + hill_height() * static_cast<double>(orders_.size());
    time.rule(top - 6.0, foot + 6.0);
    for (std::size_t k = 0; k < orders_.size(); ++k)
      hill(canvas, time, *orders_[k], top + hill_height() * (static_cast<double>(k) + 1.0) - 6.0);
    key(canvas, foot + 24.0);
  }

 private:
  [[nodiscard]] double hill_height() const {
    return std::clamp(
        460.0 / static_cast<double>(std::max<std::size_t>(1, orders_.size())), 34.0, 90.0);
  }

  [[nodiscard]] std::string whose() const {
    std::string text = promise_.name;
    text += (text.empty() ? "" : " · ") + fmt::format("{} replays", promise_.replays);
    if (promise_.orders.size() > orders_.size())
      text +=
          fmt::format(" · the {} least sure of {} orders", orders_.size(), promise_.orders.size());
    if (!promise_.causes.empty())
      text += fmt::format(" · late most of all through {}", promise_.causes.front().cause);
    return text;
  }

  void hill(Canvas& canvas, const TimeAcross& time, const works::PromisedOrder& one, double base) {
    cairo_t* pen = canvas.pen();
    const double tall = hill_height() - 14.0;
    const double due = time.x(static_cast<double>(one.due_s));
    // Left of the due date in blue, right of it in orange: what is kept and what is not.
    for (const bool late : {false, true}) {
      cairo_save(pen);
      cairo_new_path(pen);
      if (late)
        cairo_rectangle(pen, due, base - tall - 4.0, right - due + 1.0, tall + 6.0);
      else
        cairo_rectangle(pen, left, base - tall - 4.0, std::max(0.0, due - left), tall + 6.0);
      cairo_clip(pen);
      cairo_new_path(pen);
      cairo_move_to(pen, left, base);
      cairo_line_to(pen, left, base - tall);
      for (std::size_t p = 0; p < one.curve_s.size(); ++p)
        cairo_line_to(pen,
                      time.x(static_cast<double>(one.curve_s[p])),
                      base - tall * (1.0 - static_cast<double>(p) / 100.0));
      cairo_close_path(pen);
      canvas.ink(late ? colours_.out : colours_.good, 0.75);
      cairo_fill(pen);
      cairo_restore(pen);
    }
    canvas.ink(colours_.quiet_ink, 0.6);
    cairo_set_line_width(pen, 1.0);
    cairo_new_path(pen);
    cairo_move_to(pen, left, base);
    cairo_line_to(pen, right, base);
    cairo_stroke(pen);
    canvas.ink(colours_.ink);
    cairo_set_line_width(pen, 2.0);
    for (const auto& [when_s, length] :
         {std::pair{one.half_s, 0.5 * tall}, {one.ninety_s, 9.0}, {one.ninety_five_s, 9.0}}) {
      cairo_new_path(pen);
      cairo_move_to(pen, time.x(static_cast<double>(when_s)), base);
      cairo_line_to(pen, time.x(static_cast<double>(when_s)), base - length);
      cairo_stroke(pen);
    }
    cairo_new_path(pen);
    cairo_move_to(pen, due - 5.0, base + 7.0);
    cairo_line_to(pen, due + 5.0, base + 7.0);
    cairo_line_to(pen, due, base - 1.0);
    cairo_close_path(pen);
    cairo_fill(pen);
    canvas.text(one.id,
                {left - 74.0, base - 15.0},
                {.size = 14.0, .colour = colours_.ink, .ellipsis_width = 112.0},
                Align::right);
    canvas.text(
        fmt::format("{:.0f} %", 100.0 * one.on_time),
        {left - 12.0, base - 15.0},
        {.size = 14.0, .colour = one.on_time >= 0.9 ? colours_.good : colours_.out, .bold = true},
        Align::right);
  }

  void key(Canvas& canvas, double y) {
    cairo_t* pen = canvas.pen();
    canvas.text("chance on time",
                {left - 12.0, y},
                {.size = 13.0, .colour = colours_.quiet_ink},
                Align::right);
    canvas.ink(colours_.ink);
    cairo_new_path(pen);
    cairo_move_to(pen, left + 11.0, y + 13.0);
    cairo_line_to(pen, left + 21.0, y + 13.0);
    cairo_line_to(pen, left + 16.0, y + 5.0);
    cairo_close_path(pen);
    cairo_fill(pen);
    const Box box = canvas.text("due", {left + 30.0, y}, {.size = 13.0, .colour = colours_.ink});
    canvas.text(
        "height: how likely it is not done yet; it falls from 100 % to nothing; strokes: done with "
        "50, "
        "90, 95 %; orange: late",
        {box.x + box.width + 26.0, y},
        {.size = 13.0, .colour = colours_.ink});
  }

  const works::PlanPromise& promise_;
  const Palette& colours_;
  std::vector<const works::PromisedOrder*> orders_;
};

Outcome check_plan(const works::ShopPlan& plan, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  if (plan.works.empty())
    return Error{Fault::bad_input, "the plan holds no works, so there is nothing to draw"};
  return Done{};
}
Outcome check_promise(const works::PlanPromise& promise, const PlotOptions& options) {
  if (const auto checked = check_plot(options); !checked) return checked.error();
  if (promise.orders.empty())
    return Error{Fault::bad_input, "no order is promised, so there is nothing to draw"};
  return Done{};
}

}  // namespace

Result<std::string> shop_plan_plot(const works::ShopPlan& plan, const PlotOptions& options) {
  if (const auto checked = check_plan(plan, options); !checked) return checked.error();
  PlanDrawing drawing{plan, options};
  Canvas canvas = tall_page(options, drawing.height());
  drawing.draw(canvas);
  return canvas.finish();
}

Result<std::vector<PlacedText>> shop_plan_texts(const works::ShopPlan& plan,
                                                const PlotOptions& options) {
  if (const auto checked = check_plan(plan, options); !checked) return checked.error();
  PlanDrawing drawing{plan, options};
  Canvas canvas = tall_page(options, drawing.height());
  drawing.draw(canvas);
  return canvas.texts();
}

Result<std::string> promise_plot(const works::PlanPromise& promise, const PlotOptions& options) {
  if (const auto checked = check_promise(promise, options); !checked) return checked.error();
  HillDrawing drawing{promise, options};
  Canvas canvas = tall_page(options, drawing.height());
  drawing.draw(canvas);
  return canvas.finish();
}

Result<std::vector<PlacedText>> promise_texts(const works::PlanPromise& promise,
                                              const PlotOptions& options) {
  if (const auto checked = check_promise(promise, options); !checked) return checked.error();
  HillDrawing drawing{promise, options};
  Canvas canvas = tall_page(options, drawing.height());
  drawing.draw(canvas);
  return canvas.texts();
}

}  // namespace goodside::draw
