#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/in_parallel.hpp"
#include "press/study.hpp"
#include "stats/minimise_within.hpp"

namespace goodside::press {
namespace {

constexpr int most_tried = 220;
constexpr double longest_water_s = 120.0, longest_steam_s = 60.0;
constexpr double wanted = 4e-3,
                 kept = -1e-3;  ///< of a scaled margin: aimed at, and accepted below it

/// What the tolerances may take from each margin at most, to first order.
Margins reserve_of(const CycleSetup& setup, const Periodic& periodic, const Margins& margins) {
  Margins taken;
  for (const Input* input : in_doubt(setup, true, false)) {
    const Spread spread = spread_of(setup, *input);
    Margins worst;
    for (const double u : {-1.0, 1.0}) {
      const CycleSetup other = moved(setup, *input, spread, u);
      if (!check(other)) continue;
      const auto again = periodic_state(other, {}, periodic.state);
      if (!again) continue;
      const Margins there = margins_of(other, run_cycle(other, again->state));
      for (std::size_t m = 0; m < margin_count; ++m)
        worst.value[m] = std::max(worst.value[m], margins.value[m] - there.value[m]);
    }
    for (std::size_t m = 0; m < margin_count; ++m) taken.value[m] += worst.value[m];
  }
  return taken;
}

Margins less(const Margins& margins, const Margins& reserve) {
  Margins out = margins;
  for (std::size_t m = 0; m < margin_count; ++m) out.value[m] -= reserve.value[m];
  return out;
}

MapPoint point_at(const CycleSetup& setup, const Axis& x, const Axis& y, std::size_t index) {
  const auto step = [](const Axis& axis, std::size_t i) {
    return axis.low + (axis.high - axis.low) * static_cast<double>(i) / (axis.points - 1);
  };
  const auto wide = static_cast<std::size_t>(x.points);
  MapPoint point{.x = step(x, index % wide), .y = step(y, index / wide)};
  CycleSetup here = setup;
  set_both(here, *x.input, point.x);
  set_both(here, *y.input, point.y);
  point.period_s = here.schedule.period_s();
  point.standing = point.worst = Standing::cold;
  point.possible = check(here).has_value();
  if (!point.possible) return point;
  const auto periodic = periodic_state(here);
  if (!periodic) {
    point.possible = false;
    return point;
  }
  const Margins margins = margins_of(here, run_cycle(here, periodic->state));
  point.standing = standing_of(margins);
  point.worst = point.standing;
  if (point.standing == Standing::works)
    point.worst = standing_of(less(margins, reserve_of(here, *periodic, margins)));
  return point;
}

/// Steam lead, steam time and water time of a schedule.
struct Times {
  static std::vector<double> of(const Schedule& at) {
    return {at.steam_lead_s, at.steam_s, at.water_s};
  }
  static Schedule in(Schedule at, std::span<const double> times) {
    at.steam_lead_s = times[0];
    at.steam_s = times[1];
    at.water_s = times[2];
    return at;
  }
};

struct Found {
  std::vector<double> times;
  double period_s{HUGE_VAL};
  double worst{-HUGE_VAL};  ///< scaled margin
  int tried{};
};

Found search(const CycleSetup& setup, std::vector<double> start, const Margins& reserve) {
  State guess;
  Found found;
  const auto weigh = [&](std::span<const double> times) {
    CycleSetup here = setup;
    here.schedule = Times::in(setup.schedule, times);
    const auto periodic = periodic_state(here, {}, guess);
    stats::Weighed weighed{.value = here.schedule.period_s(), .margins = {}};
    ++found.tried;
    if (!periodic) {
      weighed.margins.assign(margin_count, -100.0);
      return weighed;
    }
    guess = periodic->state;
    const auto margins =
        less(margins_of(here, run_cycle(here, periodic->state)), reserve).scaled(setup);
    for (const double one : margins) weighed.margins.push_back(one - wanted);
    const double worst = *std::ranges::min_element(weighed.margins);
    const bool keeps = worst >= kept, kept_before = found.worst >= kept;
    if ((keeps && (!kept_before || weighed.value < found.period_s)) ||
        (!keeps && !kept_before && worst > found.worst)) {
      found.times.assign(times.begin(), times.end());
      found.period_s = weighed.value;
      found.worst = worst;
    }
    return weighed;
  };
  const stats::Search bounds{.start = std::move(start),
                             .first_step = {0.5 + 0.1 * setup.schedule.open_s, 1.5, 3.0},
                             .low = {0.0, 0.2, 0.5},
                             .high = {setup.schedule.open_s, longest_steam_s, longest_water_s},
                             .tolerance = 2e-3};
  // Whatever the search says of itself, the best cycle that it met counts.
  static_cast<void>(stats::minimise_within(weigh, bounds, margin_count, most_tried));
  return found;
}

/// With time for everything: what breaks here, no timing mends.
std::vector<double> generous(const Schedule& at) {
  return {at.open_s, 15.0, 60.0};
}

Error no_cycle(const CycleSetup& setup, const Margins& reserve) {
  CycleSetup here = setup;
  here.schedule = Times::in(setup.schedule, generous(setup.schedule));
  const auto periodic = periodic_state(here);
  std::string what = "the press to repeat itself";
  if (periodic) {
    const auto margins = less(margins_of(here, run_cycle(here, periodic->state)), reserve);
    const auto scaled = margins.scaled(setup);
    const auto worst = static_cast<std::size_t>(std::ranges::min_element(scaled) - scaled.begin());
    const double by = -margins.value[worst];
    constexpr std::array<const char*, margin_count> mends{
        "the disc's radius: the charge falls short by {:.2f} mm; give a heavier biscuit or a "
        "smaller spread of its mass",
        "the disc's thickness: it is {:.3f} mm beyond its tolerance; give more force, a hotter "
        "mould or a lighter biscuit",
        "filling of the grooves: the coldest place lacks {:.1f} K; give more steam pressure or a "
        "warmer biscuit",
        "the compound's heat: the hottest place has {:.1f} K too much; give less steam pressure, a "
        "cooler biscuit or less force",
        "setting: the hottest place lacks {:.1f} K; give colder water or more of it",
        "flatness: it dishes {:.2f} mm too much; balance the water of both sides"};
    const double shown = worst == 2 || worst == 3 || worst == 4 ? by : 1e3 * by;
    what = fmt::format(fmt::runtime(mends[worst]), shown);
  }
  return {Fault::out_of_range, "no cycle keeps every limit; the one that breaks is " + what};
}

}  // namespace

Result<WindowMap> window_map(const CycleSetup& setup, const Axis& x, const Axis& y, int jobs) {
  for (const Axis* axis : {&x, &y})
    if (axis->points < 2 || axis->points > 200 || !(axis->high > axis->low))
      return Error{Fault::out_of_range,
                   fmt::format("the window over {} needs 2 to 200 points and a high end above its "
                               "low one",
                               axis->input->name)};
  if (x.input == y.input)
    return Error{Fault::bad_input, "a window needs two different inputs; name another one"};
  WindowMap map{.x = x, .y = y, .points = {}};
  map.points.resize(static_cast<std::size_t>(x.points) * static_cast<std::size_t>(y.points));
  in_parallel(
      map.points.size(), jobs, [&](std::size_t i) { map.points[i] = point_at(setup, x, y, i); });
  return map;
}

Result<Best> best_cycle(const CycleSetup& setup, int jobs, bool with_reserve) {
  const Schedule& at = setup.schedule;
  const double open = at.open_s;
  const std::vector<std::vector<double>> starts{
      Times::of(at), {0.8 * open, 3.0, 12.0}, {0.3 * open, 8.0, 15.0}, {open, 2.0, 25.0}};
  Best best{.setup = setup, .periodic = {}, .cycle = {}, .reserve = {}, .cycles_tried = 0};
  Found found;
  // First as if nothing varied; then with the reserve that the tolerances ask of that cycle.
  for (int round = 0; round < (with_reserve ? 3 : 1); ++round) {
    std::vector<Found> all(round == 0 ? starts.size() : 1);
    in_parallel(all.size(), jobs, [&](std::size_t i) {
      all[i] = search(setup, round == 0 ? starts[i] : found.times, best.reserve);
    });
    found = {};
    for (Found& one : all) {
      best.cycles_tried += one.tried;
      const bool keeps = one.worst >= kept, kept_before = found.worst >= kept;
      if (found.times.empty() || (keeps && (!kept_before || one.period_s < found.period_s)) ||
          (!keeps && !kept_before && one.worst > found.worst))
        found = one;
    }
    if (found.worst < kept) {
      const Found last = search(setup, generous(at), best.reserve);
      best.cycles_tried += last.tried;
      if (last.worst < kept) return no_cycle(setup, best.reserve);
      found = last;
    }
    best.setup.schedule = Times::in(at, found.times);
    auto periodic = periodic_state(best.setup);
    if (!periodic) return periodic.error();
    best.periodic = std::move(*periodic);
    best.cycle = run_cycle(best.setup, best.periodic.state, {.numerics = {}, .keep_moments = true});
    if (with_reserve && round < 2)
      best.reserve = reserve_of(best.setup, best.periodic, margins_of(best.setup, best.cycle));
  }
  return best;
}

}  // namespace goodside::press
