#include "listen/fault_areas.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <numeric>
#include <utility>

#include "listen/chance.hpp"
#include "maths/median.hpp"
#include "stats/poisson.hpp"

namespace goodside::listen {
namespace {

constexpr double ring_turns = 32.0;
constexpr int box_shapes = 40;  // 8 powers of two of turns by 5 angles

/// Events a turn away from any cluster: the median turn, which a few busy turns cannot lift.
double quiet_rate(const GrooveIndex& events, const HeardTurns& heard) {
  const double mean = static_cast<double>(events.size()) / std::max(heard.total(), 1.0);
  if (mean < 4.0) return 0.5 * mean;  // so few that the median turn has next to none
  // A mean of 4 bounds the turns heard by a quarter of the events; gaps between them hold no events
  // to visit.
  std::vector<double> counts;
  for (std::size_t i = 0; i < events.size();) {
    const double turn = std::floor(events[i].turn);
    const std::size_t next = events.first_at(turn + 1.0);
    counts.push_back(static_cast<double>(next - i));
    i = next;
  }
  return std::max(maths::median_or(std::move(counts), 0.0), 0.25 * mean);
}

class Groups {
 public:
  explicit Groups(std::size_t n) : parent_(n) {
    std::iota(parent_.begin(), parent_.end(), std::size_t{0});
  }
  std::size_t root(std::size_t i) {
    while (parent_[i] != i) {
      parent_[i] = parent_[parent_[i]];
      i = parent_[i];
    }
    return i;
  }
  void join(std::size_t a, std::size_t b) {
    a = root(a);
    b = root(b);
    parent_[std::max(a, b)] = std::min(a, b);  // the root is the first event of its group
  }

 private:
  std::vector<std::size_t> parent_;
};

std::vector<std::vector<std::size_t>> neighbourhoods(const GrooveIndex& events,
                                                     double reach,
                                                     int reach_turns) {
  // Neighbours on one turn hold together anyway, so a few on each further turn tie the group.
  constexpr std::size_t ties = 4;
  Groups groups{events.size()};
  for (std::size_t i = 0; i < events.size(); ++i) {
    const double from = events[i].turn, to = from + std::min(events[i].extent_turns, 0.5);
    for (int k = 0; k <= reach_turns; ++k) {
      std::size_t j = k == 0 ? i + 1 : events.first_at(from + k - reach);
      for (std::size_t tied = 0; tied < ties && j < events.size(); ++tied, ++j) {
        if (events[j].turn > to + k + reach) break;
        if (j != i) groups.join(i, j);
      }
    }
  }
  std::map<std::size_t, std::vector<std::size_t>> members;
  for (std::size_t i = 0; i < events.size(); ++i) members[groups.root(i)].push_back(i);
  std::vector<std::vector<std::size_t>> list;
  list.reserve(members.size());
  for (auto& [root, group] : members) list.push_back(std::move(group));
  return list;
}

/// A group's shape on the disc, angles in turns about its mean direction.
struct Shape {
  double turns{};           // spanned, inclusive
  double occupied{};        // turns with an event
  double from{}, to{};      // angle covered
  double direction{};       // mean
  double typical_extent{};  // median over the turns of the angle covered
  double span() const { return std::min(1.0, to - from); }
};

Shape shape_of(const GrooveIndex& events, const std::vector<std::size_t>& group) {
  double east = 0.0, north = 0.0;
  for (const std::size_t i : group) {
    const double middle = events[i].turn + 0.5 * events[i].extent_turns;
    east += std::cos(2.0 * std::numbers::pi * middle);
    north += std::sin(2.0 * std::numbers::pi * middle);
  }
  struct Reach {
    double from, to;
  };
  constexpr double far_off = std::numeric_limits<double>::max();
  Shape shape;
  shape.direction = std::atan2(north, east) / (2.0 * std::numbers::pi);
  shape.from = far_off;
  shape.to = -far_off;
  double first_row = far_off, last_row = -far_off;
  std::map<long long, Reach> rows;
  for (const std::size_t i : group) {
    const double along = events[i].turn - shape.direction;
    const double row = std::floor(along + 0.5);
    const double from = along - row, to = from + events[i].extent_turns;
    const auto [place, fresh] = rows.try_emplace(std::llround(row), Reach{from, to});
    if (!fresh) {
      place->second.from = std::min(place->second.from, from);
      place->second.to = std::max(place->second.to, to);
    }
    shape.from = std::min(shape.from, from);
    shape.to = std::max(shape.to, to);
    first_row = std::min(first_row, row);
    last_row = std::max(last_row, row);
  }
  std::vector<double> extents;
  for (const auto& [row, reach] : rows) extents.push_back(reach.to - reach.from);
  shape.turns = last_row - first_row + 1.0;
  shape.occupied = static_cast<double>(rows.size());
  shape.typical_extent = maths::median_or(std::move(extents), 0.0);
  return shape;
}

works::PatternKind kind_of(const Shape& shape) {
  const double occupancy = shape.occupied / shape.turns;
  const bool filled = shape.typical_extent >= 0.5 * shape.span();
  if (shape.occupied < 3.0 || occupancy < 0.6) return works::PatternKind::scatter;
  if (filled && occupancy >= 0.75 && shape.span() >= 15.0 / 360.0) return works::PatternKind::arc;
  if (shape.span() <= 30.0 / 360.0) return works::PatternKind::patch;
  return works::PatternKind::scatter;
}

double box_angle_turns(double span) {
  for (const double deg : {5.0, 15.0, 45.0, 135.0})
    if (span <= deg / 360.0) return deg / 360.0;
  return 1.0;
}

/// Expected number of such groups by chance over the whole side.
double expected_by_chance(const GrooveIndex& events,
                          const HeardTurns& heard,
                          const std::vector<std::size_t>& group,
                          const Shape& shape) {
  const double from = events[group.front()].turn - ring_turns;
  const double to = events[group.back()].turn + ring_turns;
  const auto k = static_cast<double>(group.size());
  const auto n = static_cast<double>(events.size());
  // One event more than was counted: a rate of nothing is never known.
  const double around = (events.count(from, to) - k + 1.0) / std::max(heard.within(from, to), 1.0);
  const double overall = (n - k + 1.0) / std::max(heard.total(), 1.0);
  const double box_turns = std::exp2(std::ceil(std::log2(shape.turns)));
  const double mean = std::max(around, overall) * box_turns * box_angle_turns(shape.span());
  return n * box_shapes * std::max(1.0, 2.0 * mean) *
         stats::poisson_tail(static_cast<int>(group.size()) - 2, mean);
}

FaultArea area_of(std::vector<std::size_t> group, const Shape& shape, works::PatternKind kind) {
  FaultArea area;
  area.events = std::move(group);
  area.kind = kind;
  const double middle = shape.direction + 0.5 * (shape.from + shape.to);
  area.angle_deg = 360.0 * (middle - std::floor(middle));
  area.angle_span_deg = 360.0 * shape.span();
  return area;
}

struct BusyWindow {
  double from, to, chance, direction_deg;
};

/// The Rayleigh test over windows of turns, the unlikeliest first.
std::vector<BusyWindow> rayleigh_windows(const GrooveIndex& events,
                                         const std::vector<char>& taken) {
  struct Turn {
    double number, angle_deg;
  };
  std::map<long long, std::vector<double>> by_turn;
  for (std::size_t i = 0; i < events.size(); ++i) {
    if (taken[i] != 0) continue;
    const double whole = std::floor(events[i].turn);
    by_turn[std::llround(whole)].push_back(360.0 * (events[i].turn - whole));
  }
  constexpr std::size_t least_turns = 10;
  if (by_turn.size() < least_turns) return {};
  std::vector<Turn> turns;
  double first = std::numeric_limits<double>::max(), last = -first;
  for (const auto& [number, angles_deg] : by_turn) {
    const auto turn = static_cast<double>(number);
    turns.push_back({turn, rayleigh_test(angles_deg).direction_deg});
    first = std::min(first, turn);
    last = std::max(last, turn + 1.0);
  }

  std::vector<BusyWindow> windows;
  for (double length = 16.0; length < 2.0 * (last - first); length *= 4.0)
    for (double from = first; from < last; from += 0.5 * length) {
      const auto begin = std::lower_bound(
          turns.begin(), turns.end(), from, [](const Turn& t, double f) { return t.number < f; });
      std::vector<double> angles_deg;
      for (auto turn = begin; turn != turns.end() && turn->number < from + length; ++turn)
        angles_deg.push_back(turn->angle_deg);
      const RayleighTest test = rayleigh_test(angles_deg);
      const double chance = angles_deg.size() >= least_turns ? test.chance : 1.0;
      windows.push_back({from, from + length, chance, test.direction_deg});
    }
  std::stable_sort(windows.begin(), windows.end(), [](const BusyWindow& a, const BusyWindow& b) {
    return a.chance < b.chance;
  });
  return windows;
}

/// Sectors that are only busier than the rest of the turn, over many turns.
void busy_sectors(const GrooveIndex& events,
                  const AreaSearch& search,
                  std::vector<char>& taken,
                  std::vector<FaultArea>& areas) {
  constexpr double sector_half_turns = 1.0 / 6.0;
  const auto windows = rayleigh_windows(events, taken);
  if (windows.empty()) return;
  const double line = search.false_areas / static_cast<double>(windows.size());
  std::vector<BusyWindow> kept;
  for (const auto& window : windows) {
    if (window.chance > line) break;
    const bool overlaps = std::any_of(kept.begin(), kept.end(), [&](const BusyWindow& other) {
      return window.from < other.to && other.from < window.to;
    });
    if (overlaps) continue;
    kept.push_back(window);
    std::vector<std::size_t> group;
    for (std::size_t i = events.first_at(window.from);
         i < events.size() && events[i].turn < window.to;
         ++i) {
      const double away = events[i].turn - window.direction_deg / 360.0;
      if (taken[i] == 0 && std::abs(away - std::round(away)) <= sector_half_turns)
        group.push_back(i);
    }
    if (group.size() < static_cast<std::size_t>(search.least_events)) continue;
    for (const std::size_t i : group) taken[i] = 1;
    const Shape shape = shape_of(events, group);
    areas.push_back(area_of(std::move(group), shape, works::PatternKind::arc));
  }
}

}  // namespace

std::vector<FaultArea> fault_areas(const GrooveIndex& events,
                                   const HeardTurns& heard,
                                   const AreaSearch& search) {
  if (events.size() < static_cast<std::size_t>(search.least_events)) return {};
  // Reach is drawn in until chance alone gives an event 0.3 neighbours: far below the point where
  // random groups join up and run across the disc.
  constexpr double chance_neighbours = 0.3;
  const double rows = 2.0 * search.reach_turns + 1.0;
  const double reach = std::min(search.reach_deg / 360.0,
                                chance_neighbours / (2.0 * rows * quiet_rate(events, heard)));
  std::vector<FaultArea> areas;
  std::vector<char> taken(events.size(), 0);
  for (auto& group : neighbourhoods(events, reach, search.reach_turns)) {
    if (group.size() < static_cast<std::size_t>(search.least_events)) continue;
    const Shape shape = shape_of(events, group);
    const bool kept = search.proven
                          ? shape.occupied >= 3.0
                          : expected_by_chance(events, heard, group, shape) <= search.false_areas;
    if (!kept) continue;
    for (const std::size_t i : group) taken[i] = 1;
    areas.push_back(area_of(std::move(group), shape, kind_of(shape)));
  }
  if (!search.proven) busy_sectors(events, search, taken, areas);
  std::stable_sort(areas.begin(), areas.end(), [](const FaultArea& a, const FaultArea& b) {
    return a.events.front() < b.events.front();
  });
  return areas;
}

}  // namespace goodside::listen
