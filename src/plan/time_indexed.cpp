#include "plan/time_indexed.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <set>

#include "plan/neighbourhood.hpp"
#include "plan/schedule_bound.hpp"

namespace goodside::plan {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

std::size_t at(int number) {
  return static_cast<std::size_t>(number);
}

std::int64_t least_work_s(const ShopOperation& work) {
  if (work.fixed) return work.fixed->end_s - work.fixed->start_s;
  if (work.needs.empty()) return work.wait_s;
  std::int64_t least_s = never_s;
  for (const ShopChoice& choice : work.needs[0]) least_s = std::min(least_s, choice.work_s);
  return least_s;
}

/// The whole plan as one integer problem.
class Whole {
 public:
  Whole(const ShopIndex& index, const ShopSchedule& best, const ProofOptions& options)
      : index_{index}, model_{index.model()}, best_{best}, options_{options} {
    for (const ShopOrder& order : model_.orders) dated_ = dated_ || order.due_s < never_s;
    ends_ = earliest_ends(index);
    tails_.assign(index.count(), 0);
    for (std::size_t i = index.count(); i-- > 0;)
      for (const ShopAfter& after : model_.operations[i].after)
        tails_[at(after.operation)] =
            std::max(tails_[at(after.operation)],
                     tails_[i] + least_work_s(model_.operations[i]) + after.lag_s);
  }

  Result<PlanProof> run() {
    PlanProof proof;
    choose_slot(proof);
    if (too_coarse())
      return Error{Fault::out_of_range,
                   "times must be rounded down by too much for so few slots to say anything; the "
                   "bound by prices stands"};
    if (const auto sized = windows(); !sized) return sized.error();
    proof.columns = static_cast<int>(problem_.columns.size());
    once();
    capacity();
    order_of_works();
    lateness();
    const auto answer = solve(problem_, options_.limits);
    if (!answer) return answer.error();
    const double slot = static_cast<double>(slot_s_);
    proof.proven = answer->proven;
    proof.exact = proof.exact && answer->proven;
    // Ends and lateness are whole slots where the slot divides them.
    const double value = answer->bound * (1.0 - 1e-9) - 1e-6;
    if (dated_)
      proof.bound.late = std::max(0.0, answer->proven ? answer->bound : value) * slot;
    else
      proof.bound.end_s = static_cast<std::int64_t>(std::ceil(value)) * slot_s_;
    return proof;
  }

 private:
  void choose_slot(PlanProof& proof) {
    std::int64_t divisor = 0;
    bool plain = true;
    for (const ShopOperation& work : model_.operations) {
      divisor = std::gcd(std::gcd(divisor, work.wait_s), work.release_s);
      if (work.fixed) divisor = std::gcd(std::gcd(divisor, work.fixed->start_s), work.fixed->end_s);
      for (const auto& need : work.needs)
        for (const ShopChoice& choice : need) {
          divisor = std::gcd(divisor, choice.work_s);
          const ShopUnit& unit = model_.units[at(choice.unit)];
          divisor = std::gcd(divisor, unit.free_from_s);
          plain = plain && model_.calendars[at(unit.calendar)].always();
          for (const std::int64_t change_s : unit.change_s) plain = plain && change_s == 0;
        }
      for (const auto& need : work.needs)
        for (const ShopChoice& choice : need) plain = plain && choice.work_s == need[0].work_s;
      for (const ShopAfter& after : work.after) divisor = std::gcd(divisor, after.lag_s);
    }
    for (const ShopOrder& order : model_.orders)
      if (order.due_s < never_s) divisor = std::gcd(divisor, order.due_s);
    divisor = std::max<std::int64_t>(1, divisor);
    slot_s_ = options_.slot_s > 0 ? options_.slot_s : divisor;
    if (options_.slot_s == 0)
      while (columns_at(slot_s_) > options_.most_columns) slot_s_ += divisor;
    proof.slot_s = slot_s_;
    proof.exact = plain && slot_s_ == divisor;
  }

  /// Whether slots are longer than a quarter of the mean work, unless they divide all of them.
  [[nodiscard]] bool too_coarse() const {
    double sum_s = 0.0, works = 0.0;
    bool divides = true;
    for (std::size_t i = 0; i < index_.count(); ++i) {
      const ShopOperation& work = model_.operations[i];
      if (work.fixed || work.needs.empty()) continue;
      sum_s += static_cast<double>(least_work_s(work));
      works += 1.0;
      divides = divides && least_work_s(work) % slot_s_ == 0;
    }
    return !divides && works > 0.0 && static_cast<double>(slot_s_) > 0.25 * sum_s / works;
  }

  /// The latest slot in which a work can begin in a plan as good as the best known.
  [[nodiscard]] std::int64_t latest_s(std::size_t i) const {
    const ShopOperation& work = model_.operations[i];
    if (work.fixed) return work.fixed->start_s;
    const ShopOrder& order = model_.orders[at(work.order)];
    std::int64_t end_s = best_.cost.end_s;
    if (dated_) {
      const double late_s = order.weight > 0.0 ? best_.cost.late / order.weight : 1e12;
      // Lateness alone bounds nothing where it is free; a plan need not be longer than all works in a row.
      end_s = order.due_s >= never_s || late_s > 1e11
                  ? best_.cost.end_s * 2
                  : order.due_s + static_cast<std::int64_t>(std::ceil(late_s));
    }
    return end_s - tails_[i] - least_work_s(work);
  }
  [[nodiscard]] std::int64_t ready_s(std::size_t i) const {
    const ShopOperation& work = model_.operations[i];
    if (work.fixed) return work.fixed->start_s;
    std::int64_t ready = work.release_s;
    for (const ShopAfter& after : work.after)
      ready = std::max(ready, ends_[at(after.operation)] + after.lag_s);
    return ready;
  }
  [[nodiscard]] std::int64_t columns_at(std::int64_t slot_s) const {
    std::int64_t sum = 0;
    for (std::size_t i = 0; i < index_.count(); ++i)
      sum += std::max<std::int64_t>(0, latest_s(i) / slot_s - ready_s(i) / slot_s) + 1;
    return sum;
  }

  Outcome windows() {
    std::int64_t sum = 0;
    for (std::size_t i = 0; i < index_.count(); ++i) {
      const std::int64_t from = ready_s(i) / slot_s_;
      const std::int64_t to = std::max(from, latest_s(i) / slot_s_);
      first_.push_back(static_cast<int>(from));
      column_.push_back(static_cast<int>(sum));
      sum += to - from + 1;
      if (sum > options_.most_columns)
        return Error{
            Fault::out_of_range,
            "too many works and hours for one integer problem; the bound by prices stands"};
      for (std::int64_t t = from; t <= to; ++t) {
        problem_.columns.push_back({});
        work_of_.push_back(static_cast<int>(i));
        slot_of_.push_back(static_cast<int>(t));
        end_of_.push_back(static_cast<int>(end_slot(i, t)));
      }
    }
    column_.push_back(static_cast<int>(sum));
    return Done{};
  }

  [[nodiscard]] std::int64_t end_slot(std::size_t i, std::int64_t slot) const {
    const ShopOperation& work = model_.operations[i];
    if (work.fixed) return work.fixed->end_s / slot_s_;
    if (work.needs.empty()) return slot + work.wait_s / slot_s_;
    std::int64_t least = std::numeric_limits<std::int64_t>::max();
    std::array<int, most_needs> choice{};
    const auto size = [&](std::size_t k) {
      return k < work.needs.size() ? static_cast<int>(work.needs[k].size()) : 1;
    };
    for (choice[0] = 0; choice[0] < size(0); ++choice[0])
      for (choice[1] = 0; choice[1] < size(1); ++choice[1])
        for (choice[2] = 0; choice[2] < size(2); ++choice[2])
          least = std::min(
              least,
              index_.joined(i, choice)
                      .place(slot * slot_s_, work.needs[0][at(choice[0])].work_s, work.pauses)
                      .end_s /
                  slot_s_);
    return std::min<std::int64_t>(least, std::numeric_limits<int>::max() / 4);
  }

  void once() {
    for (std::size_t i = 0; i < index_.count(); ++i) {
      MixedInteger::Row row{.low = 1.0, .high = 1.0, .columns = {}, .factors = {}};
      for (int c = column_[i]; c < column_[i + 1]; ++c) add(row, c, 1.0);
      problem_.rows.push_back(std::move(row));
    }
  }

  void capacity() {
    std::map<std::vector<int>, std::vector<int>> groups;
    for (std::size_t i = 0; i < index_.count(); ++i)
      for (const auto& need : model_.operations[i].needs) {
        std::vector<int> units;
        for (const ShopChoice& choice : need) units.push_back(choice.unit);
        std::sort(units.begin(), units.end());
        groups[units].push_back(static_cast<int>(i));
      }
    for (const auto& [units, works] : groups) {
      if (works.size() <= units.size()) continue;
      std::map<int, MixedInteger::Row> by_slot;
      for (const int work : works)
        for (int c = column_[at(work)]; c < column_[at(work) + 1]; ++c)
          for (int t = slot_of_[at(c)]; t < end_of_[at(c)]; ++t) add(by_slot[t], c, 1.0);
      for (auto& [slot, row] : by_slot) {
        row.low = -infinite;
        row.high = static_cast<double>(units.size());
        problem_.rows.push_back(std::move(row));
      }
    }
  }

  void order_of_works() {
    for (std::size_t i = 0; i < index_.count(); ++i)
      for (const ShopAfter& after : model_.operations[i].after) {
        const auto before = at(after.operation);
        const int gap = static_cast<int>(after.lag_s / slot_s_);
        // For every slot: what ends after it keeps the next from beginning by it [Christofides et al. 1987].
        for (int c = column_[i]; c < column_[i + 1]; ++c) {
          const int slot = slot_of_[at(c)];
          MixedInteger::Row row{.low = -infinite, .high = 1.0, .columns = {}, .factors = {}};
          for (int k = column_[i]; k <= c; ++k) add(row, k, 1.0);
          for (int k = column_[before]; k < column_[before + 1]; ++k)
            if (end_of_[at(k)] + gap > slot) add(row, k, 1.0);
          if (row.columns.size() > static_cast<std::size_t>(c - column_[i] + 1))
            problem_.rows.push_back(std::move(row));
        }
      }
  }

  void lateness() {
    if (!dated_) {
      const int last = extra(1.0);
      for (std::size_t i = 0; i < index_.count(); ++i)
        if (index_.is_last(i)) at_least(last, i, 0.0);
      return;
    }
    for (std::size_t order = 0; order < model_.orders.size(); ++order) {
      const ShopOrder& one = model_.orders[order];
      if (one.due_s >= never_s || one.weight <= 0.0) continue;
      const auto works = index_.last_works(order);
      // A due date within a slot: lateness is rounded down too.
      const auto due = static_cast<double>((one.due_s + slot_s_ - 1) / slot_s_);
      if (works.size() == 1) {
        for (int c = column_[at(works[0])]; c < column_[at(works[0]) + 1]; ++c)
          problem_.columns[at(c)].cost =
              one.weight * std::max(0.0, static_cast<double>(end_of_[at(c)]) - due);
        continue;
      }
      const int late = extra(one.weight);
      for (const int work : works) at_least(late, at(work), due);
    }
  }

  int extra(double cost) {
    problem_.columns.push_back({.cost = cost, .upper = infinite, .whole = false});
    return static_cast<int>(problem_.columns.size() - 1);
  }
  void at_least(int column, std::size_t work, double due) {
    MixedInteger::Row row{.low = -due, .high = infinite, .columns = {}, .factors = {}};
    add(row, column, 1.0);
    for (int c = column_[work]; c < column_[work + 1]; ++c)
      add(row, c, -static_cast<double>(end_of_[at(c)]));
    problem_.rows.push_back(std::move(row));
  }
  static void add(MixedInteger::Row& row, int column, double factor) {
    row.columns.push_back(column);
    row.factors.push_back(factor);
  }

  const ShopIndex& index_;
  const ShopModel& model_;
  const ShopSchedule& best_;
  const ProofOptions& options_;
  bool dated_{};
  std::int64_t slot_s_{};
  std::vector<std::int64_t> ends_, tails_;
  std::vector<int> first_, column_, work_of_, slot_of_, end_of_;
  MixedInteger problem_;
};

/// Works that stand together on some units, to be sequenced anew.
struct Taken {
  std::vector<int> works;
  std::vector<int> units;
  std::vector<int> anchor;  ///< the work before the first taken on each unit
};

Taken take_out(const ShopIndex& index,
               const ScheduleGraph& graph,
               int focus,
               std::size_t most_works) {
  Taken taken;
  const auto& needs = index.model().operations[at(focus)].needs;
  const int home = graph.unit(focus, 0);
  std::vector<int> units{home};
  for (const ShopChoice& choice : needs[0])
    if (choice.unit != home && units.size() < 3) units.push_back(choice.unit);
  const std::int64_t middle_s = graph.start_s(focus);
  struct Near {
    std::int64_t gap_s;
    int work;
  };
  const std::size_t each = std::max<std::size_t>(2, most_works / units.size());
  for (const int unit : units) {
    // The run of works about the middle that may change places.
    std::vector<int> chain;
    for (int work = graph.first_of(unit); work != no_matter;
         work = graph.behind(work, graph.need_on(work, unit)))
      chain.push_back(work);
    std::size_t middle = 0;
    while (middle < chain.size() && graph.end_s(chain[middle]) <= middle_s) ++middle;
    std::size_t from = middle > each / 2 ? middle - each / 2 : 0;
    const std::size_t to = std::min(chain.size(), from + each);
    while (from < to && index.model().operations[at(chain[from])].fixed) ++from;
    taken.units.push_back(unit);
    taken.anchor.push_back(from > 0 ? chain[from - 1] : no_matter);
    for (std::size_t k = from; k < to; ++k)
      if (graph.need_on(chain[k], unit) == 0)
        taken.works.push_back(chain[k]);
      else
        break;
  }
  return taken;
}

}  // namespace

Result<PlanProof> prove(const ShopIndex& index,
                        const ShopSchedule& best,
                        const ProofOptions& options) {
  return Whole{index, best, options}.run();
}

std::optional<ShopSchedule> resequence(const ShopIndex& index,
                                       const ShopSchedule& plan,
                                       int focus,
                                       std::size_t most_works,
                                       const MixedIntegerLimits& limits) {
  const auto& operations = index.model().operations;
  if (operations[at(focus)].needs.empty() || operations[at(focus)].fixed) return std::nullopt;
  ScheduleGraph graph{index, plan};
  const Taken taken = take_out(index, graph, focus, most_works);
  if (taken.works.size() < 2) return std::nullopt;
  const std::set<int> out{taken.works.begin(), taken.works.end()};
  // Heads without the taken, tails along the order alone.
  struct Job {
    int work;
    std::int64_t head_s, tail_s, work_s;
  };
  std::vector<Job> jobs;
  std::int64_t from_s = never_s, to_s = 0, sum_s = 0;
  for (const int work : taken.works) {
    const ShopOperation& what = operations[at(work)];
    Job job{.work = work, .head_s = what.release_s, .tail_s = 0, .work_s = 0};
    for (const ShopAfter& after : what.after)
      if (!out.contains(after.operation))
        job.head_s = std::max(job.head_s, graph.end_s(after.operation) + after.lag_s);
    const auto order = at(what.order);
    job.tail_s = std::max<std::int64_t>(0, graph.order_end_s(order) - graph.end_s(work));
    std::int64_t along_s = 0;  // the way through the order at its present pace, without queueing
    for (int step = work; !index.is_last(at(step));) {
      const int next = index.successors(at(step)).front();
      for (const ShopAfter& after : operations[at(next)].after)
        if (after.operation == step) along_s += after.lag_s;
      along_s += graph.end_s(next) - graph.start_s(next);
      step = next;
    }
    job.tail_s = std::min(job.tail_s, along_s);
    job.work_s = graph.end_s(work) - graph.start_s(work) + graph.work(work).change_s;
    jobs.push_back(job);
    from_s = std::min({from_s,
                       std::max(job.head_s, std::int64_t{0}),
                       graph.start_s(work) - graph.work(work).change_s});
    to_s = std::max(to_s, graph.end_s(work));
    sum_s += job.work_s;
  }
  for (std::size_t u = 0; u < taken.units.size(); ++u)
    if (taken.anchor[u] != no_matter)
      from_s = std::max(from_s, std::min(to_s, graph.end_s(taken.anchor[u])));
  constexpr std::int64_t slots = 48;
  const std::int64_t slot_s = std::max<std::int64_t>(1, (to_s - from_s) * 5 / 4 / slots + 1);
  MixedInteger problem;
  std::vector<int> first;
  std::vector<std::vector<MixedInteger::Row>> rows(1, std::vector<MixedInteger::Row>(slots));
  for (std::size_t j = 0; j < jobs.size(); ++j) {
    const Job& job = jobs[j];
    first.push_back(static_cast<int>(problem.columns.size()));
    const auto length = std::max<std::int64_t>(1, (job.work_s + slot_s / 2) / slot_s);
    const auto head = std::clamp<std::int64_t>((job.head_s - from_s) / slot_s, 0, slots - 1);
    MixedInteger::Row once{.low = 1.0, .high = 1.0, .columns = {}, .factors = {}};
    const ShopOrder& order = index.model().orders[at(operations[at(job.work)].order)];
    for (std::int64_t t = head; t < slots; ++t) {
      const int column = static_cast<int>(problem.columns.size());
      const double end_s = static_cast<double>(from_s + t * slot_s + job.work_s);
      const double late_s =
          order.due_s >= never_s
              ? 0.0
              : std::max(0.0, end_s + static_cast<double>(job.tail_s - order.due_s));
      problem.columns.push_back(
          {.cost = (order.weight * late_s + 0.05 * index.mean_weight() *
                                                (end_s + (order.due_s >= never_s ? 1.0 : 0.0) *
                                                             static_cast<double>(job.tail_s))) /
                   static_cast<double>(slot_s),
           .upper = 1.0,
           .whole = true});
      once.columns.push_back(column);
      once.factors.push_back(1.0);
      for (std::int64_t s = t; s < std::min(slots, t + length); ++s) {
        rows[0][static_cast<std::size_t>(s)].columns.push_back(column);
        rows[0][static_cast<std::size_t>(s)].factors.push_back(1.0);
      }
    }
    problem.rows.push_back(std::move(once));
  }
  for (auto& row : rows[0]) {
    row.low = -infinite;
    row.high = static_cast<double>(taken.units.size());
    if (row.columns.size() > 1) problem.rows.push_back(std::move(row));
  }
  const auto answer = solve(problem, limits);
  if (!answer || !answer->found) return std::nullopt;
  std::vector<std::pair<int, std::size_t>> begun;
  for (std::size_t j = 0; j < jobs.size(); ++j) {
    const int end = j + 1 < jobs.size() ? first[j + 1] : static_cast<int>(problem.columns.size());
    for (int c = first[j]; c < end; ++c)
      if (answer->values[at(c)] > 0.5) {
        const auto head =
            std::clamp<std::int64_t>((jobs[j].head_s - from_s) / slot_s, 0, slots - 1);
        begun.push_back({static_cast<int>(head) + c - first[j], j});
      }
  }
  std::stable_sort(begun.begin(), begun.end());
  // Put back in that order, each on the unit that is free for it first, one of its setting before others.
  std::vector<int> last = taken.anchor;
  std::vector<std::int64_t> free_s;
  for (const int anchor : taken.anchor)
    free_s.push_back(anchor == no_matter ? 0 : graph.end_s(anchor));
  for (const auto& [slot, j] : begun) {
    const int work = jobs[j].work;
    const auto& choices = operations[at(work)].needs[0];
    std::size_t best = taken.units.size();
    int best_choice = no_matter;
    std::int64_t best_s = never_s;
    for (std::size_t u = 0; u < taken.units.size(); ++u)
      for (std::size_t c = 0; c < choices.size(); ++c) {
        if (choices[c].unit != taken.units[u]) continue;
        const std::int64_t end_s =
            std::max(jobs[j].head_s, free_s[u] + index.change_s(taken.units[u], last[u], work)) +
            choices[c].work_s;
        if (end_s < best_s) {
          best_s = end_s;
          best = u;
          best_choice = static_cast<int>(c);
        }
      }
    if (best == taken.units.size()) return std::nullopt;
    const ScheduleGraph::Move move{work, 0, best_choice, last[best]};
    const bool there =
        graph.unit(work, 0) == taken.units[best] && graph.before(work, 0) == last[best];
    if (!there && !graph.apply(move)) return std::nullopt;
    last[best] = work;
    free_s[best] = best_s;
  }
  if (!(weighed(index, graph.cost()) < weighed(index, plan.cost))) return std::nullopt;
  return graph.schedule();
}

}  // namespace goodside::plan
