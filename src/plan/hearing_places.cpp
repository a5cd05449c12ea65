#include "plan/hearing_places.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/expects.hpp"

namespace goodside::plan {
namespace {

constexpr std::int64_t lattice_places = 3000, most_impressions = 200'000;

/// Chances of the onset, and their sums, at every place of a lattice.
class Onsets {
 public:
  Onsets(const WatchedRun& run, const std::vector<std::int64_t>& places) : run_{run} {
    double below = 0.0, moment = 0.0;
    for (std::size_t i = 0; i < places.size(); ++i) {
      const auto at = static_cast<double>(places[i]);
      good_.push_back(std::clamp(run.still_good(at), 0.0, 1.0));
      if (i > 0) {
        const double ends = std::max(0.0, good_[i - 1] - good_[i]);
        below += ends;
        // Within a step of the lattice the onset lies evenly.
        moment += ends * 0.5 * (at + static_cast<double>(places[i - 1]) + 1.0);
      }
      ended_.push_back(below);
      moment_.push_back(moment);
    }
  }
  [[nodiscard]] double good(std::size_t i) const { return good_[i]; }
  [[nodiscard]] double ended(std::size_t from, std::size_t to) const {
    return ended_[to] - ended_[from];
  }
  /// Flawed discs, times their chance, where the sample at `place` is the first flawed one.
  [[nodiscard]] double flawed(std::size_t from, std::size_t to, std::int64_t place) const {
    const auto last = static_cast<double>(std::min(place + run_.behind, run_.impressions));
    return (last + 1.0) * ended(from, to) - (moment_[to] - moment_[from]);
  }

 private:
  const WatchedRun& run_;
  std::vector<double> good_, ended_, moment_;
};

double halvings(std::int64_t discs) {
  return discs > 1 ? std::log2(static_cast<double>(discs)) : 0.0;
}

Outcome check(const WatchedRun& run) {
  const auto amount = [](double value) { return std::isfinite(value) && value >= 0.0; };
  if (run.impressions < 1 || run.impressions > most_impressions)
    return Error{Fault::out_of_range,
                 fmt::format("{} impressions; 1 to {}", run.impressions, most_impressions)};
  if (!amount(run.hearing_cost) || !amount(run.disc_cost) || !amount(run.search_cost) ||
      run.hearing_cost <= 0.0)
    return Error{Fault::out_of_range, "a hearing must cost something, and no cost be negative"};
  if (run.behind < 0 || run.least_gap < 1)
    return Error{Fault::out_of_range,
                 "discs behind a verdict: 0 or more; between samples: 1 or more"};
  const std::int64_t least = run.behind + std::min(run.least_gap, run.impressions);
  if (run.most_flawed > 0 && run.most_flawed < least)
    return Error{Fault::out_of_range,
                 fmt::format("no more than {} flawed discs cannot be kept: {} are pressed before a "
                             "verdict and samples are {} discs apart, so {} is the least; more "
                             "listeners or excerpts make it smaller",
                             run.most_flawed,
                             run.behind,
                             run.least_gap,
                             least)};
  return Done{};
}

}  // namespace

HearingPlaces cost_of_places(const WatchedRun& run, std::vector<std::int64_t> at) {
  EXPECTS(!at.empty() && at.back() == run.impressions);
  std::vector<std::int64_t> lattice;
  for (std::int64_t place = 0; place <= run.impressions; ++place) lattice.push_back(place);
  const Onsets onsets{run, lattice};
  HearingPlaces places{.at = std::move(at)};
  std::int64_t from = 0;
  for (const std::int64_t place : places.at) {
    const auto x = static_cast<std::size_t>(from), y = static_cast<std::size_t>(place);
    const double flawed = onsets.flawed(x, y, place);
    places.heard_mean += onsets.good(x);
    places.flawed_mean += flawed;
    places.damage_chance += onsets.ended(x, y);
    places.cost += onsets.good(x) * run.hearing_cost + flawed * run.disc_cost +
                   onsets.ended(x, y) * run.search_cost * halvings(place - from);
    from = place;
  }
  places.flawed_if_damaged =
      places.damage_chance > 0.0 ? places.flawed_mean / places.damage_chance : 0.0;
  return places;
}

Result<HearingPlaces> hearing_places(const WatchedRun& run) {
  if (const auto checked = check(run); !checked) return checked.error();
  const std::int64_t step = (run.impressions + lattice_places - 1) / lattice_places;
  std::vector<std::int64_t> lattice{0};
  while (lattice.back() < run.impressions)
    lattice.push_back(std::min(lattice.back() + step, run.impressions));
  const Onsets onsets{run, lattice};
  const std::size_t last = lattice.size() - 1;
  std::vector<double> to_go(lattice.size(), std::numeric_limits<double>::infinity());
  std::vector<std::size_t> next(lattice.size(), last);
  to_go[last] = 0.0;
  const std::int64_t widest =
      run.most_flawed > 0 ? std::max(run.most_flawed - run.behind, step) : run.impressions;
  for (std::size_t x = last; x-- > 0;) {
    for (std::size_t y = x + 1; y <= last; ++y) {
      const std::int64_t gap = lattice[y] - lattice[x];
      if (gap > widest) break;
      if (gap < run.least_gap && y != last) continue;
      const double cost = onsets.good(x) * run.hearing_cost +
                          onsets.flawed(x, y, lattice[y]) * run.disc_cost +
                          onsets.ended(x, y) * run.search_cost * halvings(gap) + to_go[y];
      if (cost < to_go[x]) {
        to_go[x] = cost;
        next[x] = y;
      }
    }
  }
  std::vector<std::int64_t> at;
  for (std::size_t x = 0; x != last; x = next[x]) at.push_back(lattice[next[x]]);
  return cost_of_places(run, std::move(at));
}

HearingPlaces even_places(const WatchedRun& run, std::size_t samples) {
  EXPECTS(samples > 0);
  std::vector<std::int64_t> at;
  for (std::size_t k = 1; k <= samples; ++k) {
    const double share = static_cast<double>(k) / static_cast<double>(samples);
    const auto place =
        static_cast<std::int64_t>(std::llround(share * static_cast<double>(run.impressions)));
    if (at.empty() || place > at.back()) at.push_back(std::max<std::int64_t>(place, 1));
  }
  at.back() = run.impressions;
  return cost_of_places(run, std::move(at));
}

}  // namespace goodside::plan
