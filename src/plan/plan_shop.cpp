#include "plan/plan_shop.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>
#include <optional>
#include <queue>

#include "base/in_parallel.hpp"
#include "plan/neighbourhood.hpp"
#include "plan/time_indexed.hpp"

namespace goodside::plan {
namespace {

std::size_t at(int number) {
  return static_cast<std::size_t>(number);
}

class Report {
 public:
  Report(const works::Shop& shop, ShopProblem problem)
      : shop_{shop}, out_{std::move(problem), {}, {}} {}

  Result<PlannedShop> run(const PlanOptions& options) {
    const ShopIndex index{out_.problem.model};
    SearchOptions search = options.search;
    if (options.freeze.earlier != nullptr) search.known = as_before(index, *options.freeze.earlier);
    auto found = search_plan(index, search);
    if (!found) return found.error();
    out_.schedule = std::move(found->plan);
    loads(index);
    one_more(index, found->priorities, options);
    out_.plan.name = shop_.name;
    out_.plan.now_s = shop_.now_s;
    out_.plan.rounds = found->rounds;
    out_.plan.moved = out_.problem.moved;
    out_.plan.found = shop_.found;
    out_.plan.rule = figures(found->rule);
    out_.plan.plan = figures(out_.schedule);
    bound(index, options);
    list_works(index);
    list_orders(index);
    return std::move(out_);
  }

 private:
  /// The earlier plan carried on: its units where they are still there, works in the order of its starts, new ones
  /// when they could begin. Nothing where a unit it counts on is shut for good.
  [[nodiscard]] std::optional<ShopSchedule> as_before(const ShopIndex& index,
                                                      const works::ShopPlan& earlier) const {
    const auto& model = out_.problem.model;
    std::map<std::string, const works::PlannedWork*> planned;
    for (const auto& work : earlier.works) planned[work.id] = &work;
    const auto ends = earliest_ends(index);
    ShopSchedule plan;
    plan.works.resize(index.count());
    std::vector<std::int64_t> begins(index.count());
    std::vector<std::size_t> waiting(index.count());
    using Next = std::pair<std::int64_t, int>;
    std::priority_queue<Next, std::vector<Next>, std::greater<>> ready;
    for (std::size_t i = 0; i < index.count(); ++i) {
      const ShopOperation& work = model.operations[i];
      const auto was = planned.find(work.id);
      begins[i] =
          was == planned.end() ? ends[i] : was->second->start_s + earlier.now_s - shop_.now_s;
      if (was != planned.end()) plan.works[i].choice = same_units(work, *was->second);
      if (work.fixed) {
        plan.works[i].choice = work.fixed->choice;
        begins[i] = std::min(begins[i], work.fixed->start_s) - never_s;
      }
      waiting[i] = work.after.size();
      if (waiting[i] == 0) ready.push({begins[i], static_cast<int>(i)});
    }
    while (!ready.empty()) {
      const int work = ready.top().second;
      ready.pop();
      plan.sequence.push_back(work);
      for (const int next : index.successors(at(work)))
        if (--waiting[at(next)] == 0) ready.push({begins[at(next)], next});
    }
    plan = ScheduleGraph{index, plan}.schedule();
    if (plan.cost.end_s >= never_s) return std::nullopt;
    return plan;
  }

  [[nodiscard]] std::array<int, most_needs> same_units(const ShopOperation& work,
                                                       const works::PlannedWork& was) const {
    std::array<int, most_needs> choice{};
    for (std::size_t k = 0; k < work.needs.size(); ++k) {
      const std::string name =
          k == 0 ? was.unit : (k <= was.helpers.size() ? was.helpers[k - 1] : std::string{});
      for (std::size_t c = 0; c < work.needs[k].size(); ++c)
        if (out_.problem.model.units[at(work.needs[k][c].unit)].id == name)
          choice[k] = static_cast<int>(c);
    }
    return choice;
  }

  [[nodiscard]] works::PlanFigures figures(const ShopSchedule& plan) const {
    works::PlanFigures figures{.late = plan.cost.late,
                               .change_s = plan.cost.change_s,
                               .end_s = plan.cost.end_s,
                               .late_orders = 0};
    for (std::size_t order = 0; order < plan.order_end_s.size(); ++order)
      figures.late_orders +=
          plan.order_end_s[order] > out_.problem.model.orders[order].due_s ? 1 : 0;
    return figures;
  }

  void bound(const ShopIndex& index, const PlanOptions& options) {
    // Small works afford more rounds, by which the prices come near to what they can say.
    const int times = index.count() <= options.proved_works ? 20 : 1;
    const auto found = plan_bound(index,
                                  {.slot_s = 0,
                                   .rounds = times * options.price_rounds,
                                   .target_late = out_.schedule.cost.late,
                                   .target_end_s = out_.schedule.cost.end_s});
    out_.plan.least_late = found.late;
    out_.plan.least_end_s = found.end_s;
    out_.plan.proof = options.price_rounds > 0 ? "prices" : "load";
    if (out_.schedule.cost.late > found.late && index.count() <= options.proved_works)
      if (const auto proof = prove(index, out_.schedule, {});
          proof && proof->bound.late > found.late) {
        out_.plan.least_late = std::min(proof->bound.late, out_.schedule.cost.late);
        out_.plan.proof = "integer";
      }
    if (out_.plan.least_late >= out_.schedule.cost.late * (1.0 - 1e-9)) out_.plan.proof = "optimal";
  }

  [[nodiscard]] std::string group_name(int unit) const {
    const UnitOrigin& from = out_.problem.units[at(unit)];
    if (from.kind == UnitKind::set) return "sets of stampers";
    if (from.kind == UnitKind::machine) return shop_.stations[at(from.station)].id;
    const std::string& id = out_.problem.model.units[at(unit)].id;
    return "hand " + id.substr(0, id.find('/'));
  }

  void loads(const ShopIndex& index) {
    const ScheduleGraph graph{index, out_.schedule};
    std::map<std::string, works::StationLoad> by_name;
    const auto& model = out_.problem.model;
    for (std::size_t u = 0; u < model.units.size(); ++u) {
      const std::string name = group_name(static_cast<int>(u));
      works::StationLoad& load = by_name[name];
      load.station = name;
      ++load.units;
      if (!first_.contains(name)) first_[name] = static_cast<int>(u);
      const int last = graph.last_of(static_cast<int>(u));
      last_s_[name] = std::max(last_s_[name], last == no_matter ? 0 : graph.end_s(last));
    }
    for (std::size_t u = 0; u < model.units.size(); ++u) {
      const std::string name = group_name(static_cast<int>(u));
      by_name[name].open_s += static_cast<double>(
          model.calendars[at(model.units[u].calendar)].open_between(0, last_s_[name]));
    }
    for (std::size_t i = 0; i < index.count(); ++i) {
      const ShopOperation& work = model.operations[i];
      const PlacedWork& placed = out_.schedule.works[i];
      std::int64_t ready_s = work.release_s;
      for (const ShopAfter& after : work.after)
        ready_s = std::max(ready_s, out_.schedule.works[at(after.operation)].end_s + after.lag_s);
      for (std::size_t k = 0; k < work.needs.size(); ++k) {
        const int unit = work.needs[k][at(placed.choice[k])].unit;
        works::StationLoad& load = by_name[group_name(unit)];
        // What lies before now is done.
        load.work_s +=
            static_cast<double>(model.calendars[at(model.units[at(unit)].calendar)].open_between(
                std::max<std::int64_t>(0, placed.start_s), placed.end_s));
        if (k == 0) load.change_s += static_cast<double>(placed.change_s);
      }
      const auto holder = graph.holder(static_cast<int>(i));
      if (holder.need != no_matter)
        by_name[group_name(graph.unit(static_cast<int>(i), holder.need))].waited_s +=
            static_cast<double>(std::max<std::int64_t>(0, placed.start_s - ready_s)) *
            model.orders[at(work.order)].weight;
    }
    for (auto& [name, load] : by_name) out_.plan.loads.push_back(std::move(load));
    std::stable_sort(
        out_.plan.loads.begin(), out_.plan.loads.end(), [](const auto& one, const auto& other) {
          return one.waited_s > other.waited_s;
        });
  }

  /// The unit once more, for every work that may go to it.
  [[nodiscard]] ShopModel with_one_more(int unit) const {
    ShopModel model = out_.problem.model;
    ShopUnit more = model.units[at(unit)];
    more.id += " (one more)";
    more.mounted = {no_matter, no_matter, no_matter};
    const int number = static_cast<int>(model.units.size());
    model.units.push_back(std::move(more));
    for (ShopOperation& work : model.operations)
      for (auto& need : work.needs)
        for (const ShopChoice& choice : need)
          if (choice.unit == unit) {
            need.push_back({number, choice.work_s});
            break;
          }
    return model;
  }

  /// The plan searched on, in a works that has a unit more or not: by its priorities and by moves.
  [[nodiscard]] ShopSchedule searched_on(const ShopIndex& index,
                                         const DispatchOptions& priorities,
                                         const SearchOptions& options) const {
    const AnnealOptions moves{.moves = 2 * options.moves, .seed = options.seed + 77, .heat = 0.2};
    ShopSchedule best = anneal(index, out_.schedule, moves);
    if (auto ruled = dispatch_rule(index, priorities)) {
      RuledPlan better = better_rule(
          index, {priorities, std::move(*ruled)}, 2 * options.trials, options.seed + 78);
      if (better.plan.cost.late < 1.5 * best.cost.late)
        if (ShopSchedule other = anneal(index, better.plan, moves); other.cost < best.cost)
          best = std::move(other);
    }
    return best;
  }

  void one_more(const ShopIndex& index,
                const DispatchOptions& priorities,
                const PlanOptions& options) {
    std::vector<works::StationLoad*> asked;
    for (works::StationLoad& load : out_.plan.loads)
      if (static_cast<int>(asked.size()) < options.one_more_of && load.waited_s > 0.0 &&
          load.station != "sets of stampers")
        asked.push_back(&load);
    if (asked.empty()) return;
    std::vector<ShopSchedule> plans(asked.size() + 1);
    in_parallel(plans.size(), options.search.jobs, [&](std::size_t k) {
      if (k == asked.size()) {
        plans[k] = searched_on(index, priorities, options.search);
        return;
      }
      const ShopModel model = with_one_more(first_.at(asked[k]->station));
      plans[k] = searched_on(ShopIndex{model}, priorities, options.search);
    });
    if (plans.back().cost < out_.schedule.cost) out_.schedule = plans.back();
    for (std::size_t k = 0; k < asked.size(); ++k)
      asked[k]->one_more = figures(plans[k].cost < out_.schedule.cost ? plans[k] : out_.schedule);
  }

  void list_works(const ShopIndex& index) {
    const auto& model = out_.problem.model;
    for (const int number : out_.schedule.sequence) {
      const ShopOperation& work = model.operations[at(number)];
      const WorkOrigin& from = out_.problem.works[at(number)];
      const PlacedWork& placed = out_.schedule.works[at(number)];
      works::PlannedWork one;
      one.id = work.id;
      one.order = shop_.orders[from.order].id;
      one.step = from.step->id;
      one.title = shop_.orders[from.order].title;
      one.station = from.step->station;
      for (std::size_t k = 0; k < index.needs(at(number)); ++k) {
        const std::string& unit = model.units[at(work.needs[k][at(placed.choice[k])].unit)].id;
        if (k == 0)
          one.unit = unit;
        else
          one.helpers.push_back(unit);
      }
      one.start_s = placed.start_s;
      one.end_s = placed.end_s;
      one.change_s = placed.change_s;
      one.fixed = work.fixed.has_value();
      out_.plan.works.push_back(std::move(one));
    }
    std::stable_sort(
        out_.plan.works.begin(), out_.plan.works.end(), [](const auto& one, const auto& other) {
          return one.start_s < other.start_s;
        });
    for (const ShopUnit& unit : model.units) out_.plan.units.push_back(unit.id);
  }

  void list_orders(const ShopIndex& index) {
    const auto ends = earliest_ends(index);
    for (std::size_t order = 0; order < shop_.orders.size(); ++order) {
      const auto& book = shop_.orders[order];
      works::PlannedOrder one{.id = book.id,
                              .title = book.title,
                              .quantity = book.quantity,
                              .weight = book.weight,
                              .due_s = book.due_s - shop_.now_s,
                              .end_s = out_.schedule.order_end_s[order],
                              .earliest_s = 0};
      for (const int work : index.last_works(order))
        one.earliest_s = std::max(one.earliest_s, ends[at(work)]);
      out_.plan.orders.push_back(std::move(one));
    }
  }

  const works::Shop& shop_;
  PlannedShop out_;
  std::map<std::string, int> first_;
  std::map<std::string, std::int64_t> last_s_;
};

}  // namespace

Result<PlannedShop> plan_shop(const works::Shop& shop, const PlanOptions& options) {
  auto problem = lay_out_orders(shop, options.freeze);
  if (!problem) return problem.error();
  if (const auto kept = check_due_dates(shop, *problem); !kept) return kept.error();
  return Report{shop, std::move(*problem)}.run(options);
}

}  // namespace goodside::plan
