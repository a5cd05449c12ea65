#include "plan/schedule_bound.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <queue>

namespace goodside::plan {
namespace {

std::size_t at(int number) {
  return static_cast<std::size_t>(number);
}

std::int64_t shortest_s(const ShopOperation& work) {
  if (work.fixed) return work.fixed->end_s - work.fixed->start_s;
  if (work.needs.empty()) return work.wait_s;
  std::int64_t least_s = never_s;
  for (const ShopChoice& choice : work.needs[0]) least_s = std::min(least_s, choice.work_s);
  return least_s;
}

/// One way in which a work may be done, of those that differ in hours, time or first freedom.
struct Way {
  const ShopCalendar* open{};
  std::int64_t work_s{}, from_s{};
  bool operator==(const Way&) const = default;
};

std::vector<Way> ways_of(const ShopIndex& index, std::size_t i) {
  const ShopOperation& work = index.model().operations[i];
  std::vector<Way> ways;
  std::array<int, most_needs> choice{};
  const auto size = [&](std::size_t k) {
    return k < work.needs.size() ? static_cast<int>(work.needs[k].size()) : 1;
  };
  if (work.fixed || work.needs.empty()) return ways;
  for (choice[0] = 0; choice[0] < size(0); ++choice[0])
    for (choice[1] = 0; choice[1] < size(1); ++choice[1])
      for (choice[2] = 0; choice[2] < size(2); ++choice[2]) {
        Way way{&index.joined(i, choice), work.needs[0][at(choice[0])].work_s, 0};
        for (std::size_t k = 0; k < work.needs.size(); ++k)
          way.from_s = std::max(
              way.from_s, index.model().units[at(work.needs[k][at(choice[k])].unit)].free_from_s);
        if (std::find(ways.begin(), ways.end(), way) == ways.end()) ways.push_back(way);
      }
  return ways;
}

std::int64_t earliest_end(const ShopOperation& work,
                          const std::vector<Way>& ways,
                          std::int64_t ready_s) {
  if (work.fixed) return work.fixed->end_s;
  if (work.needs.empty()) return ready_s + work.wait_s;
  std::int64_t best_s = never_s;
  for (const Way& way : ways)
    best_s = std::min(
        best_s, way.open->place(std::max(ready_s, way.from_s), way.work_s, work.pauses).end_s);
  return best_s;
}

}  // namespace

std::vector<std::int64_t> earliest_ends(const ShopIndex& index) {
  std::vector<std::int64_t> ends(index.count());
  for (std::size_t i = 0; i < index.count(); ++i) {
    const ShopOperation& work = index.model().operations[i];
    std::int64_t ready_s = work.release_s;
    for (const ShopAfter& after : work.after)
      ready_s = std::max(ready_s, ends[at(after.operation)] + after.lag_s);
    ends[i] = std::min(never_s, earliest_end(work, ways_of(index, i), ready_s));
  }
  return ends;
}

namespace {

/// Works that share the very same units for one of their needs.
struct Group {
  std::vector<int> units;
  std::vector<int> works;
};

std::vector<Group> groups_of(const ShopModel& model) {
  std::map<std::vector<int>, std::vector<int>> by_units;
  for (std::size_t i = 0; i < model.operations.size(); ++i)
    for (const auto& need : model.operations[i].needs) {
      std::vector<int> units;
      for (const ShopChoice& choice : need) units.push_back(choice.unit);
      std::sort(units.begin(), units.end());
      by_units[units].push_back(static_cast<int>(i));
    }
  std::vector<Group> groups;
  for (auto& [units, works] : by_units) groups.push_back({units, works});
  return groups;
}

/// From the end of each work to the end of its order at the least, hours left aside.
std::vector<std::int64_t> tails_of(const ShopIndex& index) {
  std::vector<std::int64_t> tails(index.count(), 0);
  const auto& operations = index.model().operations;
  for (std::size_t i = index.count(); i-- > 0;)
    for (const ShopAfter& after : operations[i].after)
      tails[at(after.operation)] =
          std::max(tails[at(after.operation)], tails[i] + shortest_s(operations[i]) + after.lag_s);
  return tails;
}

struct Load {
  std::int64_t head_s{}, work_s{}, tail_s{};
};

/// Preemptive, by the longest tail, on one unit that is always open: no sequence ends sooner.
std::int64_t jackson_s(std::vector<Load> pieces) {
  std::sort(pieces.begin(), pieces.end(), [](const Load& one, const Load& other) {
    return one.head_s < other.head_s;
  });
  const auto shorter = [](const Load& one, const Load& other) { return one.tail_s < other.tail_s; };
  std::priority_queue<Load, std::vector<Load>, decltype(shorter)> waiting{shorter};
  std::int64_t now_s = 0, end_s = 0;
  for (std::size_t k = 0; k < pieces.size() || !waiting.empty();) {
    if (waiting.empty()) now_s = std::max(now_s, pieces[k].head_s);
    for (; k < pieces.size() && pieces[k].head_s <= now_s; ++k) waiting.push(pieces[k]);
    Load piece = waiting.top();
    waiting.pop();
    const std::int64_t until_s =
        k < pieces.size() ? std::min(now_s + piece.work_s, pieces[k].head_s) : now_s + piece.work_s;
    piece.work_s -= until_s - now_s;
    now_s = until_s;
    if (piece.work_s > 0)
      waiting.push(piece);
    else
      end_s = std::max(end_s, now_s + piece.tail_s);
  }
  return end_s;
}

std::int64_t group_end_s(const ShopIndex& index,
                         const Group& group,
                         const std::vector<std::int64_t>& ends,
                         const std::vector<std::int64_t>& tails) {
  const ShopModel& model = index.model();
  std::vector<Load> pieces;
  std::int64_t head_s = never_s, tail_s = never_s, sum_s = 0;
  for (const int work : group.works) {
    const ShopOperation& what = model.operations[at(work)];
    if (what.fixed) continue;
    const std::int64_t own_s = shortest_s(what);
    const std::int64_t earliest_s = std::max<std::int64_t>(0, ends[at(work)] - own_s);
    // Work that pauses may have begun long before it ends: only its readiness is a sure head.
    std::int64_t ready_s = what.release_s;
    for (const ShopAfter& after : what.after)
      ready_s = std::max(ready_s, ends[at(after.operation)] + after.lag_s);
    pieces.push_back(
        {what.pauses ? std::min(ready_s, earliest_s) : earliest_s, own_s, tails[at(work)]});
    head_s = std::min(head_s, pieces.back().head_s);
    tail_s = std::min(tail_s, pieces.back().tail_s);
    sum_s += own_s;
  }
  if (pieces.empty()) return 0;
  bool always = true;
  for (const int unit : group.units)
    always = always && model.calendars[at(model.units[at(unit)].calendar)].always();
  if (group.units.size() == 1 && always) return jackson_s(std::move(pieces));
  // The least time by which the group has been open for long enough.
  std::int64_t low_s = head_s, high_s = head_s + 1;
  const auto open_s = [&](std::int64_t until_s) {
    std::int64_t open = 0;
    for (const int unit : group.units)
      open += model.calendars[at(model.units[at(unit)].calendar)].open_between(
          std::max(head_s, model.units[at(unit)].free_from_s), until_s);
    return open;
  };
  while (open_s(high_s) < sum_s && high_s < never_s / 4) high_s = head_s + (high_s - head_s) * 2;
  while (low_s + 1 < high_s) {
    const std::int64_t middle_s = low_s + (high_s - low_s) / 2;
    (open_s(middle_s) < sum_s ? low_s : high_s) = middle_s;
  }
  return high_s + tail_s;
}

// Of the subgradient steps; the direction is mostly the one before, which keeps them from swinging to and fro.
constexpr double first_step = 0.3, slowing = 0.8, memory = 0.5;
constexpr int patience = 6;

/// Time in slots, rounded down: what no plan can beat. The last slot stands for all that comes after it.
class Grid {
 public:
  Grid(const ShopIndex& index, const std::vector<std::int64_t>& ends, const BoundOptions& options)
      : index_{index}, model_{index.model()} {
    slot_s = options.slot_s > 0 ? options.slot_s : fitting_slot_s(options.target_end_s);
    slots = static_cast<std::size_t>(options.target_end_s / slot_s) + 2;
    for (std::size_t i = 0; i < index.count(); ++i) {
      const ShopOperation& work = model_.operations[i];
      std::int64_t ready_s = work.release_s;
      for (const ShopAfter& after : work.after)
        ready_s = std::max(ready_s, ends[at(after.operation)] + after.lag_s);
      head.push_back(clamp(work.fixed ? work.fixed->start_s : ready_s));
      const auto ways = ways_of(index, i);
      auto& of = end.emplace_back(slots, static_cast<std::uint32_t>(slots - 1));
      for (std::size_t t = head[i]; t + 1 < slots; ++t)
        of[t] = static_cast<std::uint32_t>(
            clamp(earliest_end(work, ways, static_cast<std::int64_t>(t) * slot_s)));
    }
  }

  [[nodiscard]] std::size_t clamp(std::int64_t time_s) const {
    return std::min(slots - 1,
                    static_cast<std::size_t>(std::max<std::int64_t>(0, time_s) / slot_s));
  }

  /// When the order is done at the earliest, where work `i` ends in slot e: hours count. Filled at the first call.
  const std::vector<std::uint32_t>& done(std::size_t i) {
    if (done_.empty()) fill_done();
    return done_[i];
  }

  std::int64_t slot_s{};
  std::size_t slots{};
  std::vector<std::size_t> head;                ///< of each work
  std::vector<std::vector<std::uint32_t>> end;  ///< of each work, where it is ready in slot t

 private:
  /// A slot that divides hours, so that works of whole quarters lose nothing; at most so many of them.
  static std::int64_t fitting_slot_s(std::int64_t end_s) {
    constexpr std::int64_t most_slots = 2500;
    for (const std::int64_t slot :
         {1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400})
      if (end_s / slot <= most_slots) return slot;
    return end_s / most_slots + 1;
  }

  void fill_done() {
    done_.assign(index_.count(), {});
    for (std::size_t i = index_.count(); i-- > 0;) {
      auto& of = done_[i];
      of.resize(slots);
      for (std::size_t e = 0; e < slots; ++e) of[e] = static_cast<std::uint32_t>(e);
    }
    for (std::size_t i = index_.count(); i-- > 0;)
      for (const ShopAfter& after : model_.operations[i].after) {
        const auto before = at(after.operation);
        if (model_.operations[before].order != model_.operations[i].order ||
            model_.operations[i].fixed)
          continue;
        const auto gap = static_cast<std::size_t>(after.lag_s / slot_s);
        for (std::size_t e = 0; e < slots; ++e) {
          const std::size_t ready = std::max(head[i], std::min(slots - 1, e + gap));
          done_[before][e] = std::max(done_[before][e], done_[i][end[i][ready]]);
        }
      }
  }

  const ShopIndex& index_;
  const ShopModel& model_;
  std::vector<std::vector<std::uint32_t>> done_;
};

/// One group alone [Sousa and Wolsey 1992, relaxed by prices]: each of its works has its head, its time on one unit and the
/// rest of its order behind it; the order's lateness is at least any mean of what its works here make it.
class OneGroup {
 public:
  OneGroup(const ShopIndex& index, const Group& group, Grid& grid)
      : grid_{grid}, units_{static_cast<double>(group.units.size())} {
    const ShopModel& model = index.model();
    std::map<int, double> sums;
    for (const int work : group.works)
      if (!model.operations[at(work)].fixed)
        sums[model.operations[at(work)].order] +=
            static_cast<double>(shortest_s(model.operations[at(work)]));
    for (const int work : group.works) {
      const ShopOperation& what = model.operations[at(work)];
      const ShopOrder& order = model.orders[at(what.order)];
      if (what.fixed || order.due_s >= never_s || order.weight <= 0.0 || sums[what.order] <= 0.0)
        continue;
      const double share = order.weight * static_cast<double>(shortest_s(what)) / sums[what.order];
      Piece& piece = pieces_.emplace_back();
      piece.end = &grid.end[at(work)];
      const auto& done = grid.done(at(work));
      for (std::size_t t = grid.head[at(work)]; t < grid.slots; ++t) {
        const auto late_s =
            static_cast<std::int64_t>(done[(*piece.end)[t]]) * grid.slot_s - order.due_s;
        piece.cost.push_back(share * static_cast<double>(std::max<std::int64_t>(0, late_s)));
      }
      piece.head = grid.head[at(work)];
    }
  }

  [[nodiscard]] bool can_say_anything() const {
    return static_cast<double>(pieces_.size()) > units_;
  }

  /// The bound; `prices` are then those that gave it.
  double run(int rounds, double target) {
    constexpr int without_gain = 80;
    std::vector<double> price(grid_.slots, 0.0), way(grid_.slots, 0.0);
    prices = price;
    double best = 0.0, step = first_step;
    int stale = 0;
    for (int round = 0; round < rounds; ++round) {
      const double bound = value(price);
      if (round == 0 || bound > best) {
        best = std::max(best, bound);
        prices = price;
        stale = 0;
      } else if (++stale % patience == 0) {
        step *= slowing;
      }
      if (stale >= without_gain || !follow(price, way, step * (1.05 * target - bound))) break;
    }
    return best;
  }

  std::vector<double> prices;

 private:
  struct Piece {
    std::size_t head{};
    const std::vector<std::uint32_t>* end{};
    std::vector<double> cost;  ///< from the head on
  };

  double value(const std::vector<double>& price) {
    sums_.assign(grid_.slots + 1, 0.0);
    for (std::size_t t = 0; t < grid_.slots; ++t) sums_[t + 1] = sums_[t] + price[t];
    use_.assign(grid_.slots + 1, 0.0);
    double value = -units_ * sums_[grid_.slots];
    for (const Piece& piece : pieces_) {
      double least = std::numeric_limits<double>::infinity();
      std::size_t where = piece.head;
      for (std::size_t t = piece.head; t < grid_.slots; ++t) {
        const double cost = piece.cost[t - piece.head] + sums_[(*piece.end)[t]] - sums_[t];
        if (cost < least) {
          least = cost;
          where = t;
        }
      }
      value += least;
      use_[where] += 1.0;
      use_[(*piece.end)[where]] -= 1.0;
    }
    return value;
  }

  bool follow(std::vector<double>& price, std::vector<double>& way, double size) {
    double norm = 0.0, use = 0.0;
    for (std::size_t t = 0; t + 1 < grid_.slots; ++t) {
      use += use_[t];
      double over = use - units_;
      if (over < 0.0 && price[t] <= 0.0) over = 0.0;
      way[t] = memory * way[t] + (1.0 - memory) * over;
      norm += way[t] * way[t];
    }
    if (norm <= 0.0 || size <= 0.0) return false;
    for (std::size_t t = 0; t + 1 < grid_.slots; ++t)
      price[t] = std::max(0.0, price[t] + size / norm * way[t]);
    return true;
  }

  Grid& grid_;
  double units_;
  std::vector<Piece> pieces_;
  std::vector<double> sums_, use_;
};

/// Prices a slot on every group, and each order's cheapest course under them.
class Prices {
 public:
  Prices(const ShopIndex& index,
         const std::vector<Group>& groups,
         Grid& grid,
         const BoundOptions& options)
      : index_{index},
        model_{index.model()},
        groups_{groups},
        options_{options},
        slot_s_{grid.slot_s},
        slots_{grid.slots},
        head_{grid.head},
        end_{grid.end} {
    group_of_.assign(index.count(), {});
    for (std::size_t g = 0; g < groups.size(); ++g)
      for (const int work : groups[g].works) group_of_[at(work)].push_back(static_cast<int>(g));
    one_after_.assign(index.count(), no_matter);
    for (std::size_t i = 0; i < index.count(); ++i)
      for (const ShopAfter& after : model_.operations[i].after)
        if (one_after_[at(after.operation)] == no_matter &&
            model_.operations[at(after.operation)].order == model_.operations[i].order)
          one_after_[at(after.operation)] = static_cast<int>(i);
    prices_.assign(groups.size(), std::vector<double>(slots_, 0.0));
    way_ = prices_;
  }

  /// Begins with these prices on one group.
  void begin_with(std::size_t group, const std::vector<double>& prices) { prices_[group] = prices; }

  double run() {
    double best = 0.0, step = first_step;
    int stale = 0;
    for (int round = 0; round < options_.rounds; ++round) {
      const double bound = course();
      if (bound > best) {
        best = bound;
        stale = 0;
      } else if (++stale >= patience) {
        step *= slowing;
        stale = 0;
      }
      if (!follow(step * (1.05 * options_.target_late - bound))) break;
    }
    return best;
  }

 private:
  /// The relaxed problem's value: orders' cheapest courses less what the open time would fetch.
  double course() {
    use_.assign(groups_.size(), std::vector<double>(slots_, 0.0));
    double value = 0.0;
    for (std::size_t g = 0; g < groups_.size(); ++g)
      for (std::size_t t = 0; t < slots_; ++t) value -= prices_[g][t] * capacity(g);
    sums_.assign(groups_.size(), {});
    for (std::size_t g = 0; g < groups_.size(); ++g) {
      sums_[g].assign(slots_ + 1, 0.0);
      for (std::size_t t = 0; t < slots_; ++t) sums_[g][t + 1] = sums_[g][t] + prices_[g][t];
    }
    best_.assign(index_.count(), {});
    taken_.assign(index_.count(), {});
    for (std::size_t i = 0; i < index_.count(); ++i) lay(i);
    for (std::size_t order = 0; order < model_.orders.size(); ++order) value += close(order);
    return value;
  }

  [[nodiscard]] double capacity(std::size_t g) const {
    return static_cast<double>(groups_[g].units.size());
  }

  [[nodiscard]] double price(std::size_t i, std::size_t start) const {
    double sum = 0.0;
    for (const int g : group_of_[i]) sum += sums_[at(g)][end_[i][start]] - sums_[at(g)][start];
    return sum;
  }

  /// best_[i][e]: the cheapest course of `i` and all before it in its tree, with `i` ended in slot e or sooner;
  /// taken_ says when it begins.
  void lay(std::size_t i) {
    const ShopOperation& work = model_.operations[i];
    auto& best = best_[i];
    auto& taken = taken_[i];
    best.assign(slots_, std::numeric_limits<double>::infinity());
    taken.assign(slots_, 0);
    for (std::size_t t = head_[i]; t < slots_; ++t) {
      double cost = work.fixed ? 0.0 : price(i, t);
      for (const ShopAfter& after : work.after) {
        const auto before = at(after.operation);
        if (one_after_[before] == static_cast<int>(i)) cost += best_[before][until(t, after)];
      }
      const std::size_t end = end_[i][t];
      if (cost < best[end]) {
        best[end] = cost;
        taken[end] = static_cast<std::uint32_t>(t);
      }
      if (work.fixed) break;
    }
    for (std::size_t e = 1; e < slots_; ++e)
      if (best[e - 1] <= best[e]) {
        best[e] = best[e - 1];
        taken[e] = taken[e - 1];
      }
  }

  /// By when the one before must have ended for a start in slot t; the last slot asks nothing.
  [[nodiscard]] std::size_t until(std::size_t t, const ShopAfter& after) const {
    const auto gap = static_cast<std::size_t>(after.lag_s / slot_s_);
    if (t + 1 == slots_) return t;
    return t >= gap ? t - gap : 0;
  }

  /// The order's lateness is that of its latest last work, hence at least the mean over them.
  double close(std::size_t order) {
    const ShopOrder& one = model_.orders[order];
    const auto last = index_.last_works(order);
    double sum = 0.0;
    for (const int root : last) {
      const auto i = at(root);
      double least = std::numeric_limits<double>::infinity();
      std::size_t where = 0;
      for (std::size_t e = 0; e < slots_; ++e) {
        const double late_s =
            static_cast<double>(static_cast<std::int64_t>(e) * slot_s_ - one.due_s);
        const double cost =
            best_[i][e] + (one.weight / static_cast<double>(last.size())) * std::max(0.0, late_s);
        if (cost < least) {
          least = cost;
          where = e;
        }
      }
      if (!std::isfinite(least)) continue;
      sum += least;
      walk(i, where);
    }
    return sum;
  }

  void walk(std::size_t i, std::size_t e) {
    const std::size_t start = taken_[i][e];
    if (!model_.operations[i].fixed)
      for (const int g : group_of_[i])
        for (std::size_t s = start; s < end_[i][start]; ++s) use_[at(g)][s] += 1.0;
    for (const ShopAfter& after : model_.operations[i].after) {
      const auto before = at(after.operation);
      if (one_after_[before] == static_cast<int>(i)) walk(before, until(start, after));
    }
  }

  bool follow(double size) {
    double norm = 0.0;
    for (std::size_t g = 0; g < groups_.size(); ++g)
      for (std::size_t t = 0; t + 1 < slots_; ++t) {
        double over = use_[g][t] - capacity(g);
        if (over < 0.0 && prices_[g][t] <= 0.0) over = 0.0;
        way_[g][t] = memory * way_[g][t] + (1.0 - memory) * over;
        norm += way_[g][t] * way_[g][t];
      }
    if (norm <= 0.0 || size <= 0.0) return false;
    for (std::size_t g = 0; g < groups_.size(); ++g)
      for (std::size_t t = 0; t + 1 < slots_; ++t)
        prices_[g][t] = std::max(0.0, prices_[g][t] + size / norm * way_[g][t]);
    return true;
  }

  const ShopIndex& index_;
  const ShopModel& model_;
  const std::vector<Group>& groups_;
  const BoundOptions& options_;
  std::int64_t slot_s_;
  std::size_t slots_;
  const std::vector<std::size_t>& head_;
  const std::vector<std::vector<std::uint32_t>>& end_;
  std::vector<std::vector<int>> group_of_;
  std::vector<int> one_after_;
  std::vector<std::vector<double>> prices_, way_, use_, sums_, best_;
  std::vector<std::vector<std::uint32_t>> taken_;
};

/// Each group alone, from the fullest; then all together, from the prices of the one that says most.
void by_prices(const ShopIndex& index,
               const std::vector<Group>& groups,
               const std::vector<std::int64_t>& ends,
               const BoundOptions& options,
               PlanBound& bound) {
  constexpr int rounds_alone = 5;  // a round of one group costs little beside one of all
  Grid grid{index, ends, options};
  std::vector<double> best_prices;
  std::size_t best_group = 0;
  double best = 0.0;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    // The same works on no fewer units say nothing new: a bench and the hand at it.
    const bool said = std::any_of(
        groups.begin(), groups.begin() + static_cast<std::ptrdiff_t>(g), [&](const Group& other) {
          return other.works == groups[g].works && other.units.size() <= groups[g].units.size();
        });
    if (said) continue;
    OneGroup alone{index, groups[g], grid};
    if (!alone.can_say_anything()) continue;
    if (const double late = alone.run(rounds_alone * options.rounds, options.target_late);
        late > best) {
      best = late;
      best_group = g;
      best_prices = alone.prices;
    }
  }
  if (best > bound.late) {
    bound.late = best;
    bound.late_unit = groups[best_group].units.front();
  }
  Prices together{index, groups, grid, options};
  if (!best_prices.empty()) together.begin_with(best_group, best_prices);
  if (const double late = together.run(); late > bound.late) bound.late = late;
}

}  // namespace

PlanBound plan_bound(const ShopIndex& index, const BoundOptions& options) {
  const auto ends = earliest_ends(index);
  const auto tails = tails_of(index);
  PlanBound bound;
  for (std::size_t order = 0; order < index.model().orders.size(); ++order) {
    std::int64_t end_s = 0;
    for (const int work : index.last_works(order)) end_s = std::max(end_s, ends[at(work)]);
    const ShopOrder& one = index.model().orders[order];
    bound.late += one.weight * static_cast<double>(std::max<std::int64_t>(0, end_s - one.due_s));
    bound.end_s = std::max(bound.end_s, end_s);
  }
  const auto groups = groups_of(index.model());
  for (const Group& group : groups)
    if (const std::int64_t end_s = group_end_s(index, group, ends, tails); end_s > bound.end_s) {
      bound.end_s = end_s;
      bound.binding_unit = group.units.front();
    }
  if (options.rounds > 0 && options.target_late > bound.late)
    by_prices(index, groups, ends, options, bound);
  return bound;
}

}  // namespace goodside::plan
