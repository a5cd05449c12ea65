#include "trace/gather.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <utility>

namespace goodside::trace {
namespace {

constexpr double line_deg = 4.0;        ///< a scratch creeps no further from turn to turn
constexpr double most_turns = 2.5;      ///< between neighbours of one pattern
constexpr double shared_discs = 0.5;    ///< of the smaller's
constexpr double shared_pattern = 0.3;  ///< of the smaller's faults

struct Place {
  std::vector<int> discs;                           ///< rising
  std::set<std::pair<int, std::int32_t>> patterns;  ///< play and pattern
};

Place place_of(const Recurring& one,
               const Coincidences& found,
               std::span<const works::HeardPlay> plays) {
  Place place{.discs = one.why.on, .patterns = {}};
  for (const int e : one.place.events) {
    const Event& event = found.events[static_cast<std::size_t>(e)];
    const auto& fault =
        plays[static_cast<std::size_t>(event.play)].faults[static_cast<std::size_t>(event.fault)];
    if (fault.pattern >= 0) place.patterns.emplace(event.play, fault.pattern);
  }
  return place;
}

template <class Set>
double overlap(const Set& a, const Set& b) {
  if (a.empty() || b.empty()) return 0.0;
  std::size_t both = 0;
  auto i = a.begin();
  auto j = b.begin();
  while (i != a.end() && j != b.end()) {
    if (*i == *j) ++both;
    const bool first = *i < *j, second = *j < *i;
    if (!second) ++i;
    if (!first) ++j;
  }
  return static_cast<double>(both) / static_cast<double>(std::min(a.size(), b.size()));
}

std::size_t root(std::vector<std::size_t>& up, std::size_t i) {
  while (up[i] != i) i = up[i] = up[up[i]];
  return i;
}

}  // namespace

std::vector<std::vector<std::size_t>> gather_patterns(std::span<const Recurring> recurring,
                                                      const Coincidences& found,
                                                      std::span<const works::HeardPlay> plays) {
  double rpm = 0.0;
  for (const auto& play : plays) rpm = rpm > 0.0 ? rpm : play.rpm;
  const double turn_s = rpm > 0.0 ? 60.0 / rpm : 1.8;
  std::vector<Place> places;
  for (const Recurring& one : recurring) places.push_back(place_of(one, found, plays));
  std::vector<std::size_t> up(recurring.size());
  std::iota(up.begin(), up.end(), std::size_t{0});
  for (std::size_t i = 0; i < recurring.size(); ++i)
    for (std::size_t j = i + 1; j < recurring.size(); ++j) {
      const double turns =
          (recurring[j].place.programme_s - recurring[i].place.programme_s) / turn_s;
      if (turns > most_turns) break;
      const double off_deg = 360.0 * std::abs(turns - std::round(turns));
      const bool line = turns > 0.5 && off_deg <= line_deg * std::max(1.0, std::round(turns)) &&
                        overlap(places[i].discs, places[j].discs) >= shared_discs;
      if (line || overlap(places[i].patterns, places[j].patterns) >= shared_pattern)
        up[root(up, j)] = root(up, i);
    }
  std::vector<std::vector<std::size_t>> groups;
  std::vector<std::size_t> group_of(recurring.size(), recurring.size());
  for (std::size_t i = 0; i < recurring.size(); ++i) {
    const std::size_t head = root(up, i);
    if (group_of[head] == recurring.size()) {
      group_of[head] = groups.size();
      groups.emplace_back();
    }
    groups[group_of[head]].push_back(i);
  }
  return groups;
}

Candidate joined(std::span<const Candidate> places, Coincidences& found) {
  std::size_t most = 0;
  for (std::size_t i = 1; i < places.size(); ++i)
    if (places[i].events.size() > places[most].events.size()) most = i;
  Candidate all = places[most];
  std::set<int> plays;
  for (const int e : all.events) plays.insert(found.events[static_cast<std::size_t>(e)].play);
  for (const Candidate& other : places)
    for (const int e : other.events) {
      const Event event = found.events[static_cast<std::size_t>(e)];
      if (!plays.insert(event.play).second) continue;
      Event laid = event;
      laid.programme_s += all.programme_s - other.programme_s;
      all.events.push_back(static_cast<int>(found.events.size()));
      found.events.push_back(laid);
    }
  return all;
}

}  // namespace goodside::trace
