#include "plan/promise.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <string_view>

#include "base/in_parallel.hpp"
#include "stats/draw.hpp"
#include "stats/interval.hpp"

namespace goodside::plan {
namespace {

constexpr std::size_t cause_count = 7;
enum Cause : std::size_t { times, yields, breakdowns, lives, refusals, queue, planned };
constexpr std::array<const char*, cause_count> cause_names{"times",
                                                           "yields",
                                                           "breakdowns",
                                                           "stampers' lives",
                                                           "refusals",
                                                           "queueing behind others",
                                                           "late as planned"};
constexpr std::int64_t chunk = 64;
constexpr std::int64_t patience_s = 3600;  // for which a work stands by the unit it was meant for
constexpr int most_refusals = 20, most_breakdowns = 200, most_changes = 500;

std::size_t at(int number) {
  return static_cast<std::size_t>(number);
}

std::uint64_t key_of(std::string_view text) {
  std::uint64_t key = 0xCBF29CE484222325U;  // FNV-1a [Fowler, Noll and Vo]
  for (const char c : text) {
    key ^= static_cast<unsigned char>(c);
    key *= 0x100000001B3U;
  }
  return key;
}

/// Draws that hang on the seed, a name, the replay and their stream (below 8) alone.
stats::Draw luck_for(std::uint64_t seed,
                     std::uint64_t key,
                     std::int64_t replay,
                     std::uint64_t stream) {
  return stats::Draw{(seed + 1) * 0x9E3779B97F4A7C15U ^ key,
                     static_cast<std::uint64_t>(replay) * 8U + stream};
}

/// What a work takes beyond plan, by cause [s].
using Extra = std::array<double, cause_count>;

/// What is drawn for one work, put together once.
struct Luck {
  std::uint64_t key{};
  double work_s{};  ///< planned
  double each_s{};  ///< of it, for each disc
  double spread{}, yield{1.0}, yield_spread{}, refused{}, again_s{};
  double breakdown_every_s{}, repair_s{}, repair_spread{};
  double life_shape{}, life_closings{}, closings{}, title_change_s{}, regrow_s{};
  int spares{}, sides{2};
  bool fixed{}, by_belief{};   ///< lives are by one of the shop's laws
  std::vector<double> ages{};  ///< closings that the stampers on it have done already
};

class Player {
 public:
  Player(const works::Shop& shop, const PlannedShop& planned)
      : shop_{shop}, planned_{planned}, index_{planned.problem.model} {
    const ScheduleGraph graph{index_, planned.schedule};
    const auto& model = planned.problem.model;
    for (std::size_t i = 0; i < index_.count(); ++i) {
      std::array<int, most_needs> before{no_matter, no_matter, no_matter};
      for (std::size_t k = 0; k < index_.needs(i); ++k)
        before[k] = graph.before(static_cast<int>(i), static_cast<int>(k));
      before_.push_back(before);
      luck_.push_back(luck_of(i, model.operations[i]));
    }
    give_ages();
  }

  struct Played {
    std::vector<std::int64_t> order_end_s;
    std::vector<Extra> order_extra;  ///< along what held up each order, beyond plan
  };

  /// Fills `ends` and `extras` of every work, then of every order.
  void play(std::uint64_t seed, std::int64_t replay, Played& played) const {
    const auto& model = planned_.problem.model;
    thread_local std::vector<std::int64_t> ends, starts;
    thread_local std::vector<Extra> extras;
    thread_local std::vector<int> held;
    thread_local std::vector<UnitNow> units;
    units.clear();
    for (const ShopUnit& unit : model.units) units.push_back({unit.free_from_s, no_matter});
    ends.assign(index_.count(), 0);
    starts.assign(index_.count(), 0);
    extras.assign(index_.count(), Extra{});
    held.assign(index_.count(), no_matter);
    const works::ShopLifeLaw* const law = law_of(seed, replay);
    for (const int number : planned_.schedule.sequence) {
      const auto i = at(number);
      const ShopOperation& work = model.operations[i];
      const PlacedWork& placed = planned_.schedule.works[i];
      if (work.fixed && work.needs.empty() && work.fixed->end_s <= 0) {
        ends[i] = work.fixed->end_s;
        continue;
      }
      std::int64_t ready_s = work.release_s;
      int holder = no_matter;
      for (const ShopAfter& after : work.after)
        if (const auto end_s = ends[at(after.operation)] + after.lag_s; end_s > ready_s) {
          ready_s = end_s;
          holder = after.operation;
        }
      std::array<int, most_needs> choice = placed.choice;
      if (!work.fixed) elsewhere(i, ready_s, units, choice);
      for (std::size_t k = 0; k < work.needs.size(); ++k) {
        const int unit = work.needs[k][at(choice[k])].unit;
        const std::int64_t free_s = free_for(i, k, unit, units);
        if (free_s > ready_s) {
          ready_s = free_s;
          holder = units[at(unit)].last;
        }
      }
      const double taken_s = draw(luck_[i], law, seed, replay, extras[i]);
      held[i] = holder;
      if (work.fixed) {
        starts[i] = work.fixed->start_s;
        const std::int64_t plan_s = work.fixed->end_s - work.fixed->start_s;
        // What has begun is as far as it is; what is frozen begins when it can.
        starts[i] =
            work.fixed->start_s <= 0 ? work.fixed->start_s : std::max(work.fixed->start_s, ready_s);
        ends[i] = starts[i] + std::max<std::int64_t>(
                                  0,
                                  static_cast<std::int64_t>(static_cast<double>(plan_s) * taken_s /
                                                            std::max(1.0, luck_[i].work_s)));
        take(i, choice, ends[i], units);
        continue;
      }
      const auto work_s = static_cast<std::int64_t>(std::ceil(taken_s - 1e-6));
      if (work.needs.empty()) {
        starts[i] = ready_s;
        ends[i] = ready_s + work_s;
      } else {
        // Longer than any one stretch of open hours, it must rest over the closed ones.
        const ShopCalendar& open = index_.joined(i, choice);
        auto now = open.place(ready_s, work_s, work.pauses);
        if (now.end_s >= never_s && !work.pauses) now = open.place(ready_s, work_s, true);
        starts[i] = now.start_s;
        ends[i] = now.end_s;
        take(i, choice, ends[i], units);
      }
    }
    settle(ends, extras, held, played);
  }

  [[nodiscard]] std::size_t orders() const { return planned_.problem.model.orders.size(); }

 private:
  /// A unit as a replay finds it: when it is free, and after which work.
  struct UnitNow {
    std::int64_t free_s{};
    int last{no_matter};
  };

  /// When a unit is free for a work; a machine is changed over from what it did last.
  [[nodiscard]] std::int64_t free_for(std::size_t i,
                                      std::size_t need,
                                      int unit,
                                      const std::vector<UnitNow>& units) const {
    const UnitNow& now = units[at(unit)];
    if (need > 0 || planned_.problem.model.operations[i].fixed) return now.free_s;
    const std::int64_t change_s = now.last == before_[i][0]
                                      ? planned_.schedule.works[i].change_s
                                      : index_.change_s(unit, now.last, static_cast<int>(i));
    if (change_s <= 0) return now.free_s;
    const ShopModel& model = planned_.problem.model;
    return model.calendars[at(model.units[at(unit)].calendar)].after(now.free_s, change_s);
  }

  /// Where a unit holds a work up by more than people would stand by, the one of its kind that is free first:
  /// known when it becomes free, so that nothing is foreseen.
  void elsewhere(std::size_t i,
                 std::int64_t ready_s,
                 const std::vector<UnitNow>& units,
                 std::array<int, most_needs>& choice) const {
    const ShopModel& model = planned_.problem.model;
    const ShopOperation& work = model.operations[i];
    const std::int64_t wait_until_s =
        std::max(ready_s, planned_.schedule.works[i].start_s) + patience_s;
    for (std::size_t k = 0; k < work.needs.size(); ++k) {
      const ShopChoice& meant = work.needs[k][at(choice[k])];
      const ShopUnit& on = model.units[at(meant.unit)];
      if (units[at(meant.unit)].free_s <= wait_until_s) continue;
      std::int64_t best_s = free_for(i, k, meant.unit, units);
      for (std::size_t c = 0; c < work.needs[k].size(); ++c) {
        const ShopChoice& other = work.needs[k][c];
        if (other.work_s > meant.work_s || model.units[at(other.unit)].calendar != on.calendar ||
            units[at(other.unit)].free_s >= best_s)
          continue;
        if (const std::int64_t free_s = free_for(i, k, other.unit, units); free_s < best_s) {
          best_s = free_s;
          choice[k] = static_cast<int>(c);
        }
      }
    }
  }

  void take(std::size_t i,
            const std::array<int, most_needs>& choice,
            std::int64_t end_s,
            std::vector<UnitNow>& units) const {
    const auto& needs = planned_.problem.model.operations[i].needs;
    for (std::size_t k = 0; k < needs.size(); ++k) {
      UnitNow& unit = units[at(needs[k][at(choice[k])].unit)];
      unit.free_s = std::max(unit.free_s, end_s);
      unit.last = static_cast<int>(i);
    }
  }

  Luck luck_of(std::size_t i, const ShopOperation& work) const {
    const WorkOrigin& from = planned_.problem.works[i];
    const works::ShopStep& step = *from.step;
    const works::ShopOrderBook& order = shop_.orders[from.order];
    Luck luck;
    luck.key = key_of(work.id);
    const PlacedWork& placed = planned_.schedule.works[i];
    luck.work_s =
        static_cast<double>(work.fixed           ? work.fixed->end_s - work.fixed->start_s
                            : work.needs.empty() ? work.wait_s
                                                 : work.needs[0][at(placed.choice[0])].work_s);
    luck.fixed = work.fixed.has_value();
    luck.spread = step.spread;
    luck.yield = step.yield;
    luck.yield_spread = step.yield_spread;
    luck.refused = step.refused;
    const double planned_s = step.time_s + step.each_s * from.discs;
    luck.each_s = planned_s > 0.0 ? luck.work_s * step.each_s * from.discs / planned_s : 0.0;
    const auto& route = route_of(order);
    if (step.refused > 0.0) luck.again_s = again_s(i, route, step);
    for (const auto& station : shop_.stations) {
      if (station.id != step.station) continue;
      luck.breakdown_every_s = station.breakdown_every_s;
      luck.repair_s = station.repair_s;
      luck.repair_spread = station.repair_spread;
      if (!station.takes_set) continue;
      luck.title_change_s = station.title_change_s;
      for (const auto& title : shop_.titles) {
        if (title.id != order.title || step.each_s <= 0.0) continue;
        luck.life_shape = title.life_shape;
        luck.life_closings = title.life_closings;
        luck.by_belief = title.life_closings <= 0.0 && !shop_.lives.empty();
        luck.closings = from.discs;
        luck.spares = title.spares;
        luck.sides = static_cast<int>(std::max<std::size_t>(1, title.sides.size()));
        for (const auto& before : route.steps)
          if (before.per_side && before.station != step.station)
            luck.regrow_s += before.time_s + before.rest_s;
      }
    }
    return luck;
  }

  /// Stampers on a press are as old as they are; only the first work of their title meets them so.
  void give_ages() {
    for (const auto& title : shop_.titles) {
      if (title.ages.empty()) continue;
      int first = no_matter;
      for (std::size_t i = 0; i < index_.count(); ++i)
        if (luck_[i].closings > 0.0 && order_of(i).title == title.id &&
            (first == no_matter ||
             planned_.schedule.works[i].start_s < planned_.schedule.works[at(first)].start_s))
          first = static_cast<int>(i);
      if (first != no_matter) luck_[at(first)].ages = title.ages;
    }
  }
  [[nodiscard]] const works::ShopOrderBook& order_of(std::size_t i) const {
    return shop_.orders[planned_.problem.works[i].order];
  }

  /// One law for all stampers of a replay: nobody knows which of those believed in is the true one.
  [[nodiscard]] const works::ShopLifeLaw* law_of(std::uint64_t seed, std::int64_t replay) const {
    if (shop_.lives.empty()) return nullptr;
    stats::Draw dice = luck_for(seed, key_of("stampers' lives"), replay, 0);
    double share = dice.uniform();
    for (const auto& law : shop_.lives)
      if ((share -= law.weight) < 0.0) return &law;
    return &shop_.lives.back();
  }

  [[nodiscard]] const works::ShopRoute& route_of(const works::ShopOrderBook& order) const {
    for (const auto& route : shop_.routes)
      if (route.id == order.route) return route;
    return shop_.routes.front();
  }

  /// What the steps from `again` to this one took in the plan, whatever of it is still to be done.
  [[nodiscard]] double again_s(std::size_t i,
                               const works::ShopRoute& route,
                               const works::ShopStep& step) const {
    bool within = step.again.empty();
    double sum_s = 0.0;
    for (const auto& one : route.steps) {
      within = within || one.id == step.again;
      if (within) sum_s += one.time_s + one.rest_s + one.each_s * planned_.problem.works[i].discs;
      if (&one == &step) break;
    }
    return sum_s;
  }

  /// The time of one work in one replay, and what of it was beyond plan.
  static double draw(const Luck& luck,
                     const works::ShopLifeLaw* law,
                     std::uint64_t seed,
                     std::int64_t replay,
                     Extra& extra) {
    // A stream for each cause, so that one does not shift another's luck.
    const auto stream = [&](std::uint64_t number) {
      return luck_for(seed, luck.key, replay, number);
    };
    double work_s = luck.work_s;
    if (luck.spread > 0.0) {
      auto dice = stream(1);
      const double longer_s = luck.work_s * std::expm1(luck.spread * dice.normal());
      extra[times] += longer_s;
      work_s += longer_s;
    }
    if (luck.yield_spread > 0.0 && luck.yield < 1.0) {
      auto dice = stream(2);
      const double logit =
          std::log(luck.yield / (1.0 - luck.yield)) + luck.yield_spread * dice.normal();
      const double share = 1.0 / (1.0 + std::exp(-logit));
      const double more_s = luck.each_s * (luck.yield / std::max(share, 0.02) - 1.0);
      extra[yields] += more_s;
      work_s += more_s;
    }
    const works::ShopLifeLaw life =
        luck.by_belief && law != nullptr
            ? *law
            : works::ShopLifeLaw{.shape = luck.life_shape, .closings = luck.life_closings};
    if (life.closings > 0.0 && life.shape > 0.0 && luck.closings > 0.0) {
      auto dice = stream(3);
      const double more_s = worn(luck, life, dice);
      extra[lives] += more_s;
      work_s += more_s;
    }
    if (luck.breakdown_every_s > 0.0) {
      auto dice = stream(4);
      double more_s = 0.0, next_s = -std::log(dice.uniform()) * luck.breakdown_every_s;
      for (int k = 0; next_s < work_s && k < most_breakdowns; ++k) {
        more_s += luck.repair_s * std::exp(luck.repair_spread * dice.normal());
        next_s += -std::log(dice.uniform()) * luck.breakdown_every_s;
      }
      extra[breakdowns] += more_s;
      work_s += more_s;
    }
    if (luck.refused > 0.0) {
      auto dice = stream(5);
      double more_s = 0.0;
      for (int k = 0; k < most_refusals && dice.uniform() < luck.refused; ++k)
        more_s += luck.again_s;
      extra[refusals] += more_s;
      work_s += more_s;
    }
    return std::max(0.0, work_s);
  }

  /// Each side's stampers wear by themselves; a change takes the press's time, and beyond the spares new metal's. Of
  /// an age already reached the rest of the life is drawn: S(age + t) / S(age).
  static double worn(const Luck& luck, const works::ShopLifeLaw& life, stats::Draw& dice) {
    double more_s = 0.0;
    for (int side = 0; side < luck.sides; ++side) {
      const double age = at(side) < luck.ages.size() ? luck.ages[at(side)] : 0.0;
      double pressed = -age, risk = std::pow(age / life.closings, life.shape);
      int changes = 0;
      for (; changes < most_changes; ++changes) {
        const double age_at_end =
            life.closings * std::pow(risk - std::log(dice.uniform()), 1.0 / life.shape);
        pressed += life.pull_closings > 0.0
                       ? std::min(age_at_end, std::max(age, life.pull_closings))
                       : age_at_end;
        risk = 0.0;
        if (pressed >= luck.closings) break;
      }
      more_s += changes * luck.title_change_s + std::max(0, changes - luck.spares) * luck.regrow_s;
    }
    return more_s;
  }

  void settle(const std::vector<std::int64_t>& ends,
              const std::vector<Extra>& extras,
              const std::vector<int>& held,
              Played& played) const {
    const auto& model = planned_.problem.model;
    played.order_end_s.assign(model.orders.size(), 0);
    played.order_extra.assign(model.orders.size(), Extra{});
    for (std::size_t order = 0; order < model.orders.size(); ++order) {
      int last = no_matter;
      for (const int work : index_.last_works(order))
        if (last == no_matter || ends[at(work)] > ends[at(last)]) last = work;
      if (last == no_matter) continue;
      played.order_end_s[order] = ends[at(last)];
      if (ends[at(last)] <= model.orders[order].due_s) continue;
      Extra& sum = played.order_extra[order];
      if (planned_.schedule.order_end_s[order] > model.orders[order].due_s)
        sum[planned] +=
            static_cast<double>(planned_.schedule.order_end_s[order] - model.orders[order].due_s);
      bool own = true;
      std::size_t steps = 0;
      for (int work = last; work != no_matter && steps < index_.count();
           work = held[at(work)], ++steps) {
        own = own && model.operations[at(work)].order == static_cast<int>(order);
        for (std::size_t c = 0; c < cause_count; ++c) {
          const double more_s = std::max(0.0, extras[at(work)][c]);
          // Another order's trouble that this one stood behind.
          sum[model.operations[at(work)].order == static_cast<int>(order)
                  ? c
                  : static_cast<std::size_t>(queue)] += more_s;
        }
      }
    }
  }

  const works::Shop& shop_;
  const PlannedShop& planned_;
  ShopIndex index_;
  std::vector<std::array<int, most_needs>> before_;
  std::vector<Luck> luck_;
};

std::int64_t quantile_s(const std::vector<std::int64_t>& sorted_s, double share) {
  const auto rank =
      static_cast<std::size_t>(std::ceil(share * static_cast<double>(sorted_s.size())));
  return sorted_s[std::min(sorted_s.size(), std::max<std::size_t>(1, rank)) - 1];
}

std::vector<works::PromisedOrder::Cause> listed(const Extra& sums) {
  double all = 0.0;
  for (const double one : sums) all += one;
  std::vector<works::PromisedOrder::Cause> causes;
  for (std::size_t c = 0; c < cause_count && all > 0.0; ++c)
    if (sums[c] > 0.0) causes.push_back({cause_names[c], sums[c] / all});
  std::stable_sort(causes.begin(), causes.end(), [](const auto& one, const auto& other) {
    return one.share > other.share;
  });
  return causes;
}

}  // namespace

works::PlanPromise promise(const works::Shop& shop,
                           const PlannedShop& planned,
                           const PromiseOptions& options) {
  const Player player{shop, planned};
  const std::size_t orders = player.orders();
  const auto replays = static_cast<std::size_t>(std::max<std::int64_t>(1, options.replays));
  const std::size_t chunks = (replays + chunk - 1) / chunk;
  std::vector<std::vector<std::int64_t>> ends(orders, std::vector<std::int64_t>(replays));
  std::vector<std::vector<Extra>> sums(chunks, std::vector<Extra>(orders, Extra{}));
  std::vector<std::size_t> all_kept(chunks, 0);
  in_parallel(chunks, options.jobs, [&](std::size_t part) {
    Player::Played played;
    for (std::size_t r = part * chunk; r < std::min(replays, (part + 1) * chunk); ++r) {
      player.play(options.seed, static_cast<std::int64_t>(r), played);
      bool kept = true;
      for (std::size_t order = 0; order < orders; ++order) {
        ends[order][r] = played.order_end_s[order];
        const std::int64_t late_s =
            played.order_end_s[order] - planned.problem.model.orders[order].due_s;
        if (late_s <= 0) continue;
        kept = false;
        double all = 0.0;
        for (const double one : played.order_extra[order]) all += one;
        for (std::size_t c = 0; c < cause_count && all > 0.0; ++c)
          sums[part][order][c] += static_cast<double>(late_s) * played.order_extra[order][c] / all;
      }
      all_kept[part] += kept ? 1 : 0;
    }
  });
  works::PlanPromise promised;
  promised.name = shop.name;
  promised.now_s = shop.now_s;
  promised.replays = static_cast<std::int64_t>(replays);
  promised.seed = options.seed;
  promised.found = shop.found;
  const auto chance = [&](std::size_t kept) {
    return stats::proportion_interval(static_cast<int>(kept), static_cast<int>(replays), 0.95);
  };
  std::size_t kept = 0;
  for (const std::size_t one : all_kept) kept += one;
  promised.all_on_time = static_cast<double>(kept) / static_cast<double>(replays);
  promised.all_on_time_low = chance(kept).low;
  promised.all_on_time_high = chance(kept).high;
  Extra over_all{};
  for (std::size_t order = 0; order < orders; ++order) {
    works::PromisedOrder one;
    one.id = shop.orders[order].id;
    one.title = shop.orders[order].title;
    one.due_s = planned.problem.model.orders[order].due_s;
    one.planned_s = planned.schedule.order_end_s[order];
    std::sort(ends[order].begin(), ends[order].end());
    one.half_s = quantile_s(ends[order], 0.5);
    one.ninety_s = quantile_s(ends[order], 0.9);
    one.ninety_five_s = quantile_s(ends[order], 0.95);
    for (int percent = 0; percent <= 100; ++percent)
      one.curve_s.push_back(quantile_s(ends[order], percent / 100.0));
    const auto in_time = static_cast<std::size_t>(
        std::upper_bound(ends[order].begin(), ends[order].end(), one.due_s) - ends[order].begin());
    one.on_time = static_cast<double>(in_time) / static_cast<double>(replays);
    one.on_time_low = chance(in_time).low;
    one.on_time_high = chance(in_time).high;
    Extra sum{};
    for (const auto& part : sums)
      for (std::size_t c = 0; c < cause_count; ++c) sum[c] += part[order][c];
    one.causes = listed(sum);
    for (std::size_t c = 0; c < cause_count; ++c)
      over_all[c] += sum[c] * planned.problem.model.orders[order].weight;
    promised.orders.push_back(std::move(one));
  }
  promised.causes = listed(over_all);
  return promised;
}

}  // namespace goodside::plan
