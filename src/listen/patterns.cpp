#include "listen/patterns.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <utility>

#include "base/expects.hpp"
#include "listen/groove_index.hpp"

namespace goodside::listen {
namespace {

using works::FaultEvent;
using works::FaultKind;
using works::Pattern;
using works::PatternKind;

bool may_belong(const FaultEvent& fault) {
  return fault.programme_s && std::isfinite(*fault.programme_s) && !fault.pattern &&
         fault.kind != FaultKind::jump && fault.kind != FaultKind::repeat;
}

std::vector<GrooveEvent> groove_events(std::span<const FaultEvent> faults, double turns_per_s) {
  std::vector<GrooveEvent> events;
  for (std::size_t i = 0; i < faults.size(); ++i)
    if (may_belong(faults[i]))
      events.push_back({.turn = *faults[i].programme_s * turns_per_s,
                        .extent_turns = faults[i].duration_s * turns_per_s,
                        .sigma_turns = faults[i].angle_sigma_deg.value_or(0.0) / 360.0,
                        .fault = i});
  return events;
}

struct Sector {
  double middle_deg, span_deg;
};

/// A line's angle creeps, so it is unwound from one member to the next.
Sector sector_of(const GrooveIndex& index, const std::vector<std::size_t>& members) {
  const double start = index[members.front()].turn;
  double previous = start, unwound = 0.0, low = 0.0, high = 0.0;
  for (const std::size_t i : members) {
    const double step = index[i].turn - previous;
    unwound += step - std::round(step);
    low = std::min(low, unwound);
    high = std::max(high, unwound);
    previous = index[i].turn;
  }
  const double middle = start + 0.5 * (low + high);
  return {360.0 * (middle - std::floor(middle)), 360.0 * (high - low)};
}

struct Found {
  Pattern pattern;
  std::vector<std::size_t> faults;
};

Found found_in(std::span<const FaultEvent> faults,
               const GrooveIndex& index,
               const std::vector<std::size_t>& members,
               PatternKind kind,
               const Sector& sector) {
  Found found;
  found.pattern.kind = kind;
  for (const std::size_t i : members) {
    found.faults.push_back(index[i].fault);
    found.pattern.faults.push_back(faults[index[i].fault].id);
  }
  found.pattern.first_revolution = std::llround(std::floor(index[members.front()].turn));
  found.pattern.last_revolution = std::llround(std::floor(index[members.back()].turn));
  found.pattern.angle_deg = sector.middle_deg;
  found.pattern.angle_span_deg = std::min(sector.span_deg, 360.0);
  return found;
}

}  // namespace

std::vector<Pattern> find_patterns(std::span<FaultEvent> faults,
                                   std::span<const works::Interval_s> heard,
                                   const PatternSearch& search) {
  EXPECTS(search.rpm > 0.0 && std::isfinite(search.rpm));
  const double turns_per_s = search.rpm / 60.0;
  const std::vector<GrooveEvent> events = groove_events(faults, turns_per_s);
  if (events.empty()) return {};

  works::Interval_s spread{std::numeric_limits<double>::max(),
                           std::numeric_limits<double>::lowest()};
  std::vector<GrooveEvent> ticks;
  for (const auto& event : events) {
    const FaultEvent& fault = faults[event.fault];
    spread.from_s = std::min(spread.from_s, *fault.programme_s);
    spread.to_s = std::max(spread.to_s, *fault.programme_s);
    if (fault.kind != FaultKind::burst) ticks.push_back(event);
  }
  const HeardTurns heard_turns{heard, turns_per_s, spread};

  std::vector<Found> found;
  std::vector<char> taken(faults.size(), 0);
  const GrooveIndex tick_index{std::move(ticks)};
  for (const auto& line : radial_lines(tick_index, heard_turns, search.radial)) {
    const Sector sector = sector_of(tick_index, line.events);
    found.push_back(found_in(faults, tick_index, line.events, PatternKind::radial, sector));
    for (const std::size_t fault : found.back().faults) taken[fault] = 1;
  }
  // Areas of faults that stand in raised noise; of bursts, so rare beside ticks that a few together
  // mean more, and no dirt nearby joins a torn place; then of what is left.
  AreaSearch half = search.area, proven = search.area;
  half.false_areas *= 0.5;
  proven.proven = true;
  proven.least_events = 3;
  enum class Of { torn, bursts, rest };
  for (const Of pass : {Of::torn, Of::bursts, Of::rest}) {
    std::vector<GrooveEvent> free;
    std::ranges::copy_if(events, std::back_inserter(free), [&](const GrooveEvent& event) {
      const FaultEvent& fault = faults[event.fault];
      if (taken[event.fault] != 0) return false;
      return pass == Of::torn     ? fault.nature == works::Nature::non_fill
             : pass == Of::bursts ? fault.kind == FaultKind::burst
                                  : true;
    });
    const GrooveIndex rest{std::move(free)};
    for (const auto& area : fault_areas(rest, heard_turns, pass == Of::torn ? proven : half)) {
      const Sector sector{area.angle_deg, area.angle_span_deg};
      found.push_back(found_in(faults, rest, area.events, area.kind, sector));
      for (const std::size_t fault : found.back().faults) taken[fault] = 1;
    }
  }

  std::stable_sort(found.begin(), found.end(), [](const Found& a, const Found& b) {
    return a.pattern.first_revolution < b.pattern.first_revolution;
  });
  std::vector<Pattern> patterns;
  for (auto& one : found) {
    one.pattern.id = search.first_id + static_cast<int>(patterns.size());
    for (const std::size_t fault : one.faults) faults[fault].pattern = one.pattern.id;
    patterns.push_back(std::move(one.pattern));
  }
  return patterns;
}

}  // namespace goodside::listen
