#include "cli/plan_summary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "cli/wrap.hpp"
#include "plan/shop_orders.hpp"

namespace goodside::cli {
namespace {

constexpr std::size_t most_lines = 10;

std::string span(double seconds) {
  const double hours = seconds / 3600.0;
  if (hours >= 72.0) return fmt::format("{:.1f} d", hours / 24.0);
  return hours >= 1.0 ? fmt::format("{:.1f} h", hours) : fmt::format("{:.0f} min", seconds / 60.0);
}
std::string span(std::int64_t seconds) {
  return span(static_cast<double>(seconds));
}

std::string verdict(const works::ShopPlan& plan,
                    const std::vector<const works::PlannedOrder*>& late) {
  if (late.empty()) {
    const works::PlannedOrder* tight = nullptr;
    for (const auto& one : plan.orders)
      if (tight == nullptr || one.due_s - one.end_s < tight->due_s - tight->end_s) tight = &one;
    return fmt::format("all {} orders on time; the tightest is {} with {} to spare\n",
                       plan.orders.size(),
                       tight->id,
                       span(tight->due_s - tight->end_s));
  }
  return fmt::format("{} of {} orders late, worst {} by {}\n",
                     late.size(),
                     plan.orders.size(),
                     late.front()->id,
                     span(late.front()->late_s()));
}

std::string loads(const works::ShopPlan& plan) {
  std::string text;
  std::size_t lines = 0;
  for (const auto& load : plan.loads) {
    if (load.waited_s <= 0.0 || ++lines > 4) break;
    text += fmt::format("{}{:<22} {:>3} units, busy {:>3.0f} %",
                        lines == 1 ? "held up by  " : "            ",
                        load.station,
                        load.units,
                        load.open_s > 0.0 ? 100.0 * load.work_s / load.open_s : 0.0);
    if (load.one_more) {
      const double less = plan.plan.late - load.one_more->late;
      if (less > 0.0)
        text += fmt::format("; one more: {:.0f} % less late, {} late orders",
                            100.0 * less / plan.plan.late,
                            load.one_more->late_orders);
      else if (load.one_more->end_s < plan.plan.end_s)
        text +=
            fmt::format("; one more: done {} sooner", span(plan.plan.end_s - load.one_more->end_s));
      else
        text += "; one more gives nothing";
    }
    text += "\n";
  }
  return text;
}

std::string proven(const works::ShopPlan& plan) {
  std::string text;
  if (plan.plan.late <= 0.0)
    text = "no plan is less late";
  else if (plan.proof == "optimal")
    text = "proven: no plan is less late";
  else if (plan.least_late <= 0.005 * plan.plan.late)
    text = "how little lateness there could be is not known: the bound says nothing here";
  else
    text = fmt::format("no plan has less than {:.0f} % of this lateness (bound by {})",
                       100.0 * plan.least_late / plan.plan.late,
                       plan.proof);
  return text +
         fmt::format("; none is done before {}\n", plan::shown_time(plan.now_s + plan.least_end_s));
}

/// What the record told, for the first orders.
void put_found(std::string& text, const std::vector<std::string>& found) {
  if (found.empty()) return;
  text += "from the record\n";
  for (std::size_t k = 0; k < std::min(found.size(), most_lines); ++k)
    put(text, found[k], "  ", "    ");
  if (found.size() > most_lines)
    text += fmt::format("  and {} more; --json has them all\n", found.size() - most_lines);
}

}  // namespace

std::string plan_summary(const works::ShopPlan& plan) {
  std::vector<const works::PlannedOrder*> late;
  for (const auto& one : plan.orders)
    if (one.late_s() > 0) late.push_back(&one);
  std::stable_sort(late.begin(), late.end(), [](const auto* one, const auto* other) {
    return static_cast<double>(one->late_s()) * one->weight >
           static_cast<double>(other->late_s()) * other->weight;
  });
  std::string text = verdict(plan, late);
  for (std::size_t k = 0; k < std::min(late.size(), most_lines); ++k)
    text += fmt::format("  {:<12} due {}  done {}  late {:>8}\n",
                        late[k]->id,
                        plan::shown_time(plan.now_s + late[k]->due_s),
                        plan::shown_time(plan.now_s + late[k]->end_s),
                        span(late[k]->late_s()));
  if (late.size() > most_lines) text += fmt::format("  and {} more\n", late.size() - most_lines);
  text += fmt::format("{} works until {}, {} of changing over\n",
                      plan.works.size(),
                      plan::shown_time(plan.now_s + plan.plan.end_s),
                      span(plan.plan.change_s));
  put_found(text, plan.found);
  text += loads(plan);
  if (plan.rule.late > 0.0 && plan.rule.late > plan.plan.late)
    text += fmt::format(
        "the best of eleven dispatching rules: {} late orders; {:.0f} % of its lateness is gone\n",
        plan.rule.late_orders,
        100.0 * (1.0 - plan.plan.late / plan.rule.late));
  text += proven(plan);
  for (std::size_t k = 0; k < std::min(plan.moved.size(), most_lines); ++k)
    text += fmt::format("could not stay: {}\n", plan.moved[k]);
  text += late.empty()
              ? "next: `plan promise` says how sure these dates are\n"
              : "next: agree new dates for the late orders, or add where they are held up\n";
  return text;
}

std::string promise_summary(const works::PlanPromise& promise) {
  std::string text =
      fmt::format("every order on time in {:.0f} % of {} replays ({:.0f} to {:.0f} %)\n",
                  100.0 * promise.all_on_time,
                  promise.replays,
                  100.0 * promise.all_on_time_low,
                  100.0 * promise.all_on_time_high);
  std::vector<const works::PromisedOrder*> orders;
  for (const auto& one : promise.orders) orders.push_back(&one);
  std::stable_sort(orders.begin(), orders.end(), [](const auto* one, const auto* other) {
    return one->on_time < other->on_time;
  });
  // The due date has the year; the others are near it.
  const auto near = [&](std::int64_t when_s) {
    return plan::shown_time(promise.now_s + when_s).substr(5);
  };
  text += fmt::format("  {:<12}{:>17}{:>14}{:>13}{:>13}{:>9}\n",
                      "order",
                      "due",
                      "even chance",
                      "90 % by",
                      "95 % by",
                      "on time");
  for (std::size_t k = 0; k < std::min(orders.size(), most_lines); ++k)
    text += fmt::format("  {:<12}{:>17}{:>14}{:>13}{:>13}{:>7.0f} %\n",
                        orders[k]->id,
                        plan::shown_time(promise.now_s + orders[k]->due_s),
                        near(orders[k]->half_s),
                        near(orders[k]->ninety_s),
                        near(orders[k]->ninety_five_s),
                        100.0 * orders[k]->on_time);
  if (orders.size() > most_lines)
    text += fmt::format("  and {} more, surer\n", orders.size() - most_lines);
  if (!promise.causes.empty()) {
    text += "late through";
    for (std::size_t k = 0; k < std::min<std::size_t>(promise.causes.size(), 4); ++k)
      text += fmt::format("{} {} {:.0f} %",
                          k == 0 ? "" : ",",
                          promise.causes[k].cause,
                          100.0 * promise.causes[k].share);
    text += "\n";
  }
  put_found(text, promise.found);
  if (!promise.lives.empty()) put(text, "stampers' lives: " + promise.lives, "", "  ");
  text += "next: promise the 95 % date where the due date is not likely to be kept\n";
  return text;
}

}  // namespace goodside::cli
