#include "plan/neighbourhood.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <vector>

#include "stats/draw.hpp"

namespace goodside::plan {
namespace {

constexpr double change_share = 0.02, end_share = 0.001;  // of the mean order's weight
constexpr double coldest = 0.004;
constexpr int longest_jump = 12;
constexpr double moves_to_roam = 1000.0;

double median(std::vector<double>& values) {
  if (values.empty()) return 1e-9;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

using Move = ScheduleGraph::Move;

class Annealer {
 public:
  Annealer(const ShopIndex& index, const ShopSchedule& from, const AnnealOptions& options)
      : index_{index}, graph_{index, from}, draw_{options.seed}, options_{options} {
    const auto& operations = index.model().operations;
    std::map<std::array<int, change_kinds>, std::vector<int>> alike;
    for (std::size_t i = 0; i < operations.size(); ++i)
      if (!operations[i].needs.empty() && operations[i].setting != std::array<int, 3>{-1, -1, -1})
        alike[operations[i].setting].push_back(static_cast<int>(i));
    for (auto& [setting, works] : alike) {
      for (const int work : works) {
        group_.emplace_back(work, groups_.size());
      }
      groups_.push_back(std::move(works));
    }
  }

  ShopSchedule run() {
    ShopSchedule best = graph_.schedule();
    double now = weighed(index_, graph_.cost());
    std::vector<double> worsened;
    double heat = 0.0, first = 0.0;
    const auto moves = std::max<std::int64_t>(1, options_.moves);
    const std::int64_t samples = std::min<std::int64_t>(400, moves / 10);
    // Few moves a work leave no time to cool from a heat that undoes more than they mend.
    const double leisure = std::min(
        1.0,
        static_cast<double>(moves) /
            (moves_to_roam * static_cast<double>(std::max<std::size_t>(1, index_.count()))));
    for (std::int64_t m = 0; m < moves; ++m) {
      const auto move = propose();
      if (!move || !graph_.apply(*move)) continue;
      const double then = weighed(index_, graph_.cost());
      const double worse = then - now;
      if (m < samples) {
        if (worse > 0.0) worsened.push_back(worse);
      } else if (m % 64 == 0 || first == 0.0) {
        if (first == 0.0) first = options_.heat * leisure * median(worsened);
        heat = first * std::pow(coldest, static_cast<double>(m) / static_cast<double>(moves));
      }
      if (worse <= 0.0 || (heat > 0.0 && draw_.uniform() < std::exp(-worse / heat))) {
        now = then;
        moved_ = true;
        if (graph_.cost() < best.cost) best = graph_.schedule();
      } else {
        graph_.take_back();
      }
    }
    return best;
  }

 private:
  static std::size_t at(int number) { return static_cast<std::size_t>(number); }
  int pick(std::size_t count) { return static_cast<int>(draw_.whole(count)); }

  /// Where the trouble shows: the last work of a late order, by its share of the lateness, or of the whole plan.
  int trouble() {
    const auto& orders = index_.model().orders;
    std::size_t order = 0;
    if (graph_.cost().late > 0.0) {
      double at_share = draw_.uniform() * graph_.cost().late;
      for (; order + 1 < orders.size(); ++order) {
        at_share -= orders[order].weight * static_cast<double>(std::max<std::int64_t>(
                                               0, graph_.order_end_s(order) - orders[order].due_s));
        if (at_share <= 0.0) break;
      }
    } else {
      for (; order + 1 < orders.size(); ++order)
        if (graph_.order_end_s(order) == graph_.cost().end_s) break;
    }
    int last = no_matter;
    for (const int work : index_.last_works(order))
      if (last == no_matter || graph_.end_s(work) > graph_.end_s(last)) last = work;
    return last;
  }

  void trace(int work) {
    path_.clear();
    while (work != no_matter && path_.size() < index_.count()) {
      const auto holder = graph_.holder(work);
      path_.push_back({work, holder});
      work = holder.operation;
    }
  }

  std::optional<Move> propose() {
    const double what = draw_.uniform();
    if (graph_.cost().change_s > 0 && what < 0.12) return join_alike();
    if (index_.count() == 0) return std::nullopt;
    // Without a late order there is one path until the plan changes.
    if (graph_.cost().late > 0.0 || path_.empty() || moved_) trace(trouble());
    moved_ = false;
    if (path_.empty()) return std::nullopt;
    if (what > 0.75)
      if (const auto move = elsewhere(path_[at(pick(path_.size()))].work)) return move;
    held_.clear();
    for (std::size_t k = 0; k < path_.size(); ++k)
      if (path_[k].holder.need != no_matter) held_.push_back(k);
    if (held_.empty()) return elsewhere(path_[at(pick(path_.size()))].work);
    const std::size_t where = held_[at(pick(held_.size()))];
    return within(where, draw_.uniform());
  }

  /// Moves along the chain about the arc from the holder to the work.
  std::optional<Move> within(std::size_t where, double kind) {
    const int work = path_[where].work, need = path_[where].holder.need;
    const int ahead = path_[where].holder.operation;
    const int unit = graph_.unit(work, need);
    const int choice = graph_.work(work).choice[at(need)];
    if (kind < 0.6) {
      const int own = graph_.need_on(ahead, unit);
      return Move{work, need, choice, graph_.before(ahead, own)};
    }
    if (kind < 0.8) {  // further ahead
      int to = ahead;
      for (int steps = pick(longest_jump); steps > 0; --steps) {
        const int next = graph_.before(to, graph_.need_on(to, unit));
        if (next == no_matter) break;
        to = next;
      }
      return Move{work, need, choice, graph_.before(to, graph_.need_on(to, unit))};
    }
    int to = work;
    for (int steps = pick(longest_jump); steps > 0; --steps) {
      const int next = graph_.behind(to, graph_.need_on(to, unit));
      if (next == no_matter) break;
      to = next;
    }
    const int own = graph_.need_on(ahead, unit);
    return Move{ahead, own, graph_.work(ahead).choice[at(own)], to};
  }

  /// To another unit that may do it, about where it stands in the list.
  std::optional<Move> elsewhere(int work) {
    const auto& needs = index_.model().operations[at(work)].needs;
    if (needs.empty()) return std::nullopt;
    const int need = pick(needs.size());
    const auto& choices = needs[at(need)];
    if (choices.size() < 2) return std::nullopt;
    int choice = pick(choices.size() - 1);
    if (choice >= graph_.work(work).choice[at(need)]) ++choice;
    const int unit = choices[at(choice)].unit;
    // Between works that begin before and after it would be ready, or a few places ahead.
    int behind = graph_.last_of(unit);
    const auto ready_s = graph_.start_s(work);
    while (behind != no_matter && graph_.start_s(behind) >= ready_s)
      behind = graph_.before(behind, graph_.need_on(behind, unit));
    for (int steps = pick(3); steps > 0 && behind != no_matter; --steps)
      behind = graph_.before(behind, graph_.need_on(behind, unit));
    return Move{work, need, choice, behind};
  }

  /// A work that asks for changing over goes behind another of the same setting.
  std::optional<Move> join_alike() {
    if (group_.empty()) return std::nullopt;
    const auto& [work, group] = group_[at(pick(group_.size()))];
    if (graph_.work(work).change_s == 0) return std::nullopt;
    const auto& works = groups_[group];
    const int other = works[at(pick(works.size()))];
    if (other == work) return std::nullopt;
    const int unit = graph_.unit(other, 0);
    const auto& choices = index_.model().operations[at(work)].needs[0];
    for (std::size_t c = 0; c < choices.size(); ++c)
      if (choices[c].unit == unit) {
        if (draw_.uniform() < 0.5) return Move{work, 0, static_cast<int>(c), other};
        return Move{work, 0, static_cast<int>(c), graph_.before(other, 0)};
      }
    return std::nullopt;
  }

  struct Step {
    int work;
    ScheduleGraph::Holder holder;
  };

  const ShopIndex& index_;
  ScheduleGraph graph_;
  stats::Draw draw_;
  AnnealOptions options_;
  std::vector<Step> path_;
  bool moved_{true};
  std::vector<std::size_t> held_;
  std::vector<std::pair<int, std::size_t>> group_;
  std::vector<std::vector<int>> groups_;
};

}  // namespace

double weighed(const ShopIndex& index, const PlanCost& cost) {
  return cost.late + index.mean_weight() * (change_share * static_cast<double>(cost.change_s) +
                                            end_share * static_cast<double>(cost.end_s));
}

ShopSchedule anneal(const ShopIndex& index,
                    const ShopSchedule& from,
                    const AnnealOptions& options) {
  return Annealer{index, from, options}.run();
}

}  // namespace goodside::plan
