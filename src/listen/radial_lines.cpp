#include "listen/radial_lines.hpp"

#include <algorithm>
#include <cmath>
#include <span>

namespace goodside::listen {
namespace {

constexpr double ring_turns = 8.0;  // the local rate is that of +-8 turns
constexpr double beside_turns = 30.0 / 360.0;
constexpr double struck_share = 0.8;  // q: a real scratch is heard on four turns of five
constexpr double hopeless_chance = 0.4;
constexpr double widest_window_turns = 6.0 / 360.0;
constexpr double worst_sigma_turns = 1.0 / 360.0;
constexpr double window_sigmas = 3.0;
constexpr std::size_t fitted_hits = 8;

/// Ticks within a breadth of each other, which the stylus meets as one crossing.
struct Site {
  double turn, sigma_turns;
  std::size_t first, last;  // of the events, inclusive
};

std::vector<Site> sites_of(const GrooveIndex& ticks, double breadth_turns) {
  std::vector<Site> sites;
  for (std::size_t i = 0; i < ticks.size(); ++i) {
    if (!sites.empty() && ticks[i].turn - sites.back().turn <= breadth_turns)
      sites.back().last = i;
    else
      sites.push_back({ticks[i].turn, std::min(ticks[i].sigma_turns, worst_sigma_turns), i, i});
  }
  return sites;
}

GrooveIndex index_of(const std::vector<Site>& sites) {
  std::vector<GrooveEvent> events(sites.size());
  for (std::size_t i = 0; i < sites.size(); ++i) {
    events[i].turn = sites[i].turn;
    events[i].fault = i;
  }
  return GrooveIndex{std::move(events)};
}

struct Hit {
  double turns_on;      // whole turns from the seed
  double offset_turns;  // of the angle from the seed's
  std::size_t site;
};

struct Prediction {
  double offset_turns, slope_turns;
  double variance_ratio;  // over the variance of one hit
};

/// Least-squares line through the last hits, read at `turns_on`.
Prediction predict(std::span<const Hit> hits, double turns_on) {
  const auto last = hits.last(std::min(hits.size(), fitted_hits));
  const auto n = static_cast<double>(last.size());
  double mean_x = 0.0, mean_y = 0.0;
  for (const auto& hit : last) {
    mean_x += hit.turns_on / n;
    mean_y += hit.offset_turns / n;
  }
  double sxx = 0.0, sxy = 0.0;
  for (const auto& hit : last) {
    sxx += (hit.turns_on - mean_x) * (hit.turns_on - mean_x);
    sxy += (hit.turns_on - mean_x) * (hit.offset_turns - mean_y);
  }
  const double slope = sxy / sxx;
  const double ahead = turns_on - mean_x;
  return {mean_y + slope * ahead, slope, 1.0 / n + ahead * ahead / sxx};
}

class Tracker {
 public:
  Tracker(const std::vector<Site>& sites, const HeardTurns& heard, const RadialSearch& search)
      : sites_{sites}, index_{index_of(sites)}, heard_{heard}, search_{search} {
    const double side_rate = static_cast<double>(sites.size()) / std::max(heard.total(), 1.0);
    rates_.reserve(sites.size());
    for (const auto& site : sites) {
      const double from = site.turn - ring_turns, to = site.turn + ring_turns;
      const double turns = std::max(heard.within(from, to), 1.0);
      rates_.push_back(std::max(side_rate, index_.count(from, to) / turns));
    }
  }

  /// Adds every line that opens at `seed` and reaches `least_evidence`.
  void follow_from(std::size_t seed, double least_evidence, std::vector<RadialLine>& lines) const {
    for (int gap = 1; gap <= 2; ++gap) {
      const double half = (gap * search_.slope_deg_per_turn + 3.0 * search_.wander_deg) / 360.0;
      const double middle = sites_[seed].turn + gap;
      const std::size_t first = index_.first_at(middle - half);
      const std::size_t end = index_.first_at(middle + half);
      if (first == end) continue;
      const double expected = 2.0 * half * std::max(rates_[seed], opening_rate(middle));
      // ln 2: openings of one and of two turns share the expected false lines.
      const double opening = -std::log(expected) - std::log(2.0);
      for (std::size_t other = first; other < end; ++other) {
        auto line = follow(seed, other, gap, opening);
        if (line.evidence >= least_evidence) lines.push_back(std::move(line));
      }
    }
  }

 private:
  /// Rate over an eighth of a turn to either side of an opening's second tick, that tick left out.
  double opening_rate(double middle) const {
    constexpr double half = 0.125;
    return std::max(0, index_.count(middle - half, middle + half) - 1) / (2.0 * half);
  }

  double beside_rate(double middle, double half) const {
    int events = 0;
    for (const double turn : {middle, middle - 1.0})
      events += index_.count(turn - beside_turns, turn - half) +
                index_.count(turn + half, turn + beside_turns);
    return events / (4.0 * (beside_turns - half));
  }

  std::size_t nearest(std::size_t first, std::size_t end, double turn) const {
    std::size_t best = first;
    for (std::size_t i = first; i < end; ++i)
      if (std::abs(sites_[i].turn - turn) < std::abs(sites_[best].turn - turn)) best = i;
    return best;
  }

  RadialLine follow(std::size_t seed, std::size_t other, int gap, double evidence) const {
    const double seed_turn = sites_[seed].turn;
    std::vector<Hit> hits{{0.0, 0.0, seed},
                          {1.0 * gap, sites_[other].turn - seed_turn - gap, other}};
    double best_evidence = 0.0;
    std::size_t best_hits = 0;
    int silent = 0;
    for (double turns_on = gap + 1.0; silent <= search_.missed_turns; turns_on += 1.0) {
      const Prediction ahead = predict(hits, turns_on);
      if (std::abs(ahead.slope_turns) > 1.1 * search_.slope_deg_per_turn / 360.0) break;
      const double turn = seed_turn + turns_on + ahead.offset_turns;
      if (!heard_.covers(turn)) {
        ++silent;
        continue;
      }
      const double sigma = std::hypot(search_.wander_deg / 360.0,
                                      search_.wander_per_slope * ahead.slope_turns,
                                      sites_[hits.back().site].sigma_turns);
      const double half = std::min(window_sigmas * sigma * std::sqrt(1.0 + ahead.variance_ratio),
                                   widest_window_turns);
      const double rate = std::max(rates_[hits.back().site], beside_rate(turn, half));
      const double chance = -std::expm1(-2.0 * half * rate);
      if (chance > hopeless_chance) break;
      const std::size_t first = index_.first_at(turn - half), end = index_.first_at(turn + half);
      if (first == end) {
        evidence += std::log((1.0 - struck_share) / (1.0 - chance));
        ++silent;
        continue;
      }
      silent = 0;
      evidence += std::log(struck_share / chance);
      const std::size_t site = nearest(first, end, turn);
      hits.push_back({turns_on, sites_[site].turn - seed_turn - turns_on, site});
      if (evidence > best_evidence) {
        best_evidence = evidence;
        best_hits = hits.size();
      }
    }
    if (best_hits < static_cast<std::size_t>(search_.least_turns)) return {};
    RadialLine line;
    line.evidence = best_evidence;
    for (std::size_t i = 0; i < best_hits; ++i) line.events.push_back(hits[i].site);
    return line;
  }

  const std::vector<Site>& sites_;
  GrooveIndex index_;
  const HeardTurns& heard_;
  const RadialSearch& search_;
  std::vector<double> rates_;
};

}  // namespace

std::vector<RadialLine> radial_lines(const GrooveIndex& ticks,
                                     const HeardTurns& heard,
                                     const RadialSearch& search) {
  const std::vector<Site> sites = sites_of(ticks, search.site_deg / 360.0);
  if (sites.size() < static_cast<std::size_t>(search.least_turns)) return {};
  const Tracker tracker{sites, heard, search};
  const double least_evidence = std::log(static_cast<double>(sites.size()) / search.false_lines);

  std::vector<RadialLine> found;
  for (std::size_t seed = 0; seed < sites.size(); ++seed)
    tracker.follow_from(seed, least_evidence, found);
  std::stable_sort(found.begin(), found.end(), [](const RadialLine& a, const RadialLine& b) {
    return a.evidence > b.evidence;
  });

  // The same scratch is found again from its second tick, its third …: the fullest claim takes them
  // all, and a later one stands only where two scratches cross.
  std::vector<char> taken(sites.size(), 0);
  std::vector<RadialLine> lines;
  for (const auto& line : found) {
    RadialLine own;
    own.evidence = line.evidence;
    std::size_t free_sites = 0;
    for (const std::size_t site : line.events) {
      if (taken[site] != 0) continue;
      ++free_sites;
      for (std::size_t i = sites[site].first; i <= sites[site].last; ++i) own.events.push_back(i);
    }
    if (free_sites < static_cast<std::size_t>(search.least_turns) ||
        3 * free_sites < 2 * line.events.size())
      continue;
    for (const std::size_t site : line.events) taken[site] = 1;
    lines.push_back(std::move(own));
  }
  return lines;
}

}  // namespace goodside::listen
