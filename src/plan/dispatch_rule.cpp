#include "plan/dispatch_rule.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace goodside::plan {
namespace {

constexpr double change_weight = 0.5;

class Dispatcher {
 public:
  Dispatcher(const ShopIndex& index, const DispatchOptions& options)
      : index_{index},
        options_{options},
        model_{index.model()},
        waiting_(index.count()),
        after_s_(index.count()) {
    for (const ShopUnit& unit : model_.units) {
      free_s_.push_back(unit.free_from_s);
      last_.push_back(no_matter);
    }
    plan_.works.resize(index.count());
    for (std::size_t i = index.count(); i-- > 0;) {
      waiting_[i] = model_.operations[i].after.size();
      const auto own_s = shortest(i);
      mean_s_ += static_cast<double>(own_s) / static_cast<double>(index.count());
      for (const ShopAfter& after : model_.operations[i].after) {
        auto& rest_s = after_s_[static_cast<std::size_t>(after.operation)];
        rest_s = std::max(rest_s, after_s_[i] + own_s + after.lag_s);
      }
    }
    mean_s_ = std::max(mean_s_, 1.0);
  }

  Result<ShopSchedule> run() {
    place_fixed();
    for (std::size_t i = 0; i < index_.count(); ++i)
      if (!model_.operations[i].fixed && model_.operations[i].after.empty())
        ready_.push_back(look(i));
    while (!ready_.empty()) {
      auto best = ready_.begin();
      for (auto one = ready_.begin(); one != ready_.end(); ++one) {
        if (!fresh(*one)) *one = look(one->operation);
        if (better(*one, *best)) best = one;
      }
      if (best->work.end_s >= never_s)
        return Error{
            Fault::out_of_range,
            fmt::format(
                "{} can never be done: no unit that may do it is open long enough at a stretch; "
                "give it a calendar with longer hours, or let the work pause",
                model_.operations[best->operation].id)};
      const Candidate taken = *best;
      *best = ready_.back();
      ready_.pop_back();
      take(taken.operation, taken.work);
    }
    return std::move(plan_);
  }

 private:
  struct Candidate {
    std::size_t operation{};
    PlacedWork work;
    std::array<std::uint64_t, most_needs> seen{};
    double urgency{};
  };

  [[nodiscard]] std::int64_t shortest(std::size_t operation) const {
    const ShopOperation& what = model_.operations[operation];
    if (what.needs.empty()) return what.wait_s;
    std::int64_t least_s = never_s;
    for (const ShopChoice& choice : what.needs[0]) least_s = std::min(least_s, choice.work_s);
    return least_s;
  }

  void place_fixed() {
    std::vector<std::size_t> fixed;
    for (std::size_t i = 0; i < index_.count(); ++i)
      if (model_.operations[i].fixed) fixed.push_back(i);
    std::stable_sort(fixed.begin(), fixed.end(), [&](std::size_t one, std::size_t other) {
      return model_.operations[one].fixed->start_s < model_.operations[other].fixed->start_s;
    });
    for (const std::size_t i : fixed) {
      const ShopFixed& at = *model_.operations[i].fixed;
      take(i, {.choice = at.choice, .start_s = at.start_s, .end_s = at.end_s, .change_s = 0});
    }
  }

  /// A candidate stays as it was looked at until one of the units it would take has been taken by another; that
  /// a unit it did not take has become free no sooner never makes it better.
  [[nodiscard]] bool fresh(const Candidate& one) const {
    for (std::size_t k = 0; k < model_.operations[one.operation].needs.size(); ++k) {
      const auto unit =
          static_cast<std::size_t>(model_.operations[one.operation]
                                       .needs[k][static_cast<std::size_t>(one.work.choice[k])]
                                       .unit);
      if (one.seen[k] != taken_of(unit)) return false;
    }
    return true;
  }
  [[nodiscard]] std::uint64_t taken_of(std::size_t unit) const {
    return static_cast<std::uint64_t>(last_[unit] + 1);
  }

  Candidate look(std::size_t operation) const {
    const ShopOperation& what = model_.operations[operation];
    Candidate one{.operation = operation, .work = {}, .seen = {}, .urgency = 0.0};
    std::int64_t ready_s = what.release_s;
    for (const ShopAfter& after : what.after)
      ready_s = std::max(
          ready_s, plan_.works[static_cast<std::size_t>(after.operation)].end_s + after.lag_s);
    if (what.needs.empty()) {
      one.work = {.choice = {}, .start_s = ready_s, .end_s = ready_s + what.wait_s, .change_s = 0};
    } else {
      // The helpers that are free first; then the unit on which it ends first.
      std::array<int, most_needs> choice{};
      std::int64_t helpers_s = ready_s;
      for (std::size_t k = 1; k < what.needs.size(); ++k) {
        std::int64_t best_s = never_s + 1, best_free_s = never_s;
        int best_hours = no_matter;
        for (std::size_t c = 0; c < what.needs[k].size(); ++c) {
          const auto unit = static_cast<std::size_t>(what.needs[k][c].unit);
          // Of units with the same hours the one that is free first; most are not looked at twice.
          if (model_.units[unit].calendar == best_hours &&
              std::max(free_s_[unit], ready_s) >= best_free_s)
            continue;
          const auto& calendar =
              model_.calendars[static_cast<std::size_t>(model_.units[unit].calendar)];
          const auto free_s = calendar.place(std::max(free_s_[unit], ready_s), 0, false).start_s;
          if (free_s < best_s) {
            best_s = free_s;
            best_free_s = std::max(free_s_[unit], ready_s);
            best_hours = model_.units[unit].calendar;
            choice[k] = static_cast<int>(c);
          }
        }
        helpers_s = std::max(helpers_s, best_s);
      }
      one.work.end_s = never_s + 1;
      int best_hours = no_matter;
      std::int64_t best_free_s = 0, best_work_s = 0;
      for (std::size_t c = 0; c < what.needs[0].size(); ++c) {
        choice[0] = static_cast<int>(c);
        const int unit = what.needs[0][c].unit;
        const auto on = static_cast<std::size_t>(unit);
        const auto change_s = index_.change_s(unit, last_[on], static_cast<int>(operation));
        if (model_.units[on].calendar == best_hours && free_s_[on] >= best_free_s &&
            change_s >= one.work.change_s && what.needs[0][c].work_s >= best_work_s)
          continue;
        const auto& calendar =
            model_.calendars[static_cast<std::size_t>(model_.units[on].calendar)];
        const auto from_s = std::max(helpers_s, calendar.after(free_s_[on], change_s));
        const auto placed =
            index_.joined(operation, choice).place(from_s, what.needs[0][c].work_s, what.pauses);
        if (placed.end_s + change_s < one.work.end_s + one.work.change_s) {
          one.work = {.choice = choice,
                      .start_s = placed.start_s,
                      .end_s = placed.end_s,
                      .change_s = change_s};
          best_hours = model_.units[on].calendar;
          best_free_s = free_s_[on];
          best_work_s = what.needs[0][c].work_s;
        }
      }
    }
    one.urgency = urgency(one);
    for (std::size_t k = 0; k < what.needs.size(); ++k)
      one.seen[k] = taken_of(static_cast<std::size_t>(
          what.needs[k][static_cast<std::size_t>(one.work.choice[k])].unit));
    return one;
  }

  /// The earliest beginnings are compared by urgency: first those that could begin before the other would end.
  [[nodiscard]] bool better(const Candidate& one, const Candidate& other) const {
    if (one.work.start_s >= other.work.end_s && one.work.end_s > other.work.end_s) return false;
    if (other.work.start_s >= one.work.end_s && other.work.end_s > one.work.end_s) return true;
    if (one.urgency != other.urgency) return one.urgency > other.urgency;
    return one.operation < other.operation;
  }

  [[nodiscard]] double urgency(const Candidate& one) const {
    const ShopOperation& what = model_.operations[one.operation];
    const ShopOrder& order = model_.orders[static_cast<std::size_t>(what.order)];
    const double work_s = std::max(1.0, static_cast<double>(shortest(one.operation)));
    const double rest_s = static_cast<double>(after_s_[one.operation]);
    const double change =
        std::exp(-static_cast<double>(one.work.change_s) / (change_weight * mean_s_));
    if (order.due_s >= never_s) return change * (rest_s + work_s) * 1e-9;
    const auto number = static_cast<std::size_t>(what.order);
    const double due_s = static_cast<double>(
        order.due_s + (number < options_.shift_s.size() ? options_.shift_s[number] : 0));
    if (options_.by_due) return rest_s + work_s - due_s;
    const double slack_s = due_s - static_cast<double>(one.work.start_s) - work_s - rest_s;
    return order.weight / work_s * change *
           std::exp(-std::max(0.0, slack_s) /
                    (options_.look_ahead * mean_s_ + options_.rest_share * rest_s));
  }

  void take(std::size_t operation, const PlacedWork& work) {
    plan_.works[operation] = work;
    plan_.sequence.push_back(static_cast<int>(operation));
    const ShopOperation& what = model_.operations[operation];
    for (std::size_t k = 0; k < what.needs.size(); ++k) {
      const auto unit =
          static_cast<std::size_t>(what.needs[k][static_cast<std::size_t>(work.choice[k])].unit);
      free_s_[unit] = std::max(free_s_[unit], work.end_s);
      last_[unit] = static_cast<int>(operation);
    }
    for (const int next : index_.successors(operation)) {
      const auto to = static_cast<std::size_t>(next);
      if (--waiting_[to] == 0 && !model_.operations[to].fixed) ready_.push_back(look(to));
    }
  }

  const ShopIndex& index_;
  const DispatchOptions& options_;
  const ShopModel& model_;
  std::vector<std::size_t> waiting_;
  std::vector<std::int64_t> after_s_, free_s_;
  std::vector<int> last_;
  double mean_s_{};
  std::vector<Candidate> ready_;
  ShopSchedule plan_;
};

}  // namespace

Result<ShopSchedule> dispatch_rule(const ShopIndex& index, const DispatchOptions& options) {
  auto plan = Dispatcher{index, options}.run();
  if (!plan) return plan.error();
  return ScheduleGraph{index, *plan}.schedule();
}

}  // namespace goodside::plan
