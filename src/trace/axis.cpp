#include "trace/axis.hpp"

#include <algorithm>
#include <utility>

namespace goodside::trace {
namespace {

constexpr std::int64_t parts_of_an_interval = 8;
/// That a stamper began where its first known mounting did: an earlier one may have left no disc.
constexpr double as_noted = 0.85;
/// That something was done to a stamper that was taken off and put on again, where nobody noted it.
constexpr double not_noted = 1.0 / 3.0;

std::vector<std::int64_t> edges_of(const Unit& unit) {
  std::vector<std::int64_t> edges;
  const Member* before = nullptr;
  for (const Member& member : unit.members) {
    if (before != nullptr && before->low == member.low && before->high == member.high) continue;
    before = &member;
    edges.push_back(member.low);
    const std::int64_t width = member.high - member.low;
    if (width == 0) continue;
    edges.push_back(member.high);
    const std::int64_t parts = std::min(parts_of_an_interval, width);
    for (std::int64_t i = 1; i < parts; ++i) edges.push_back(member.low + width * i / parts);
  }
  std::sort(edges.begin(), edges.end());
  edges.erase(std::unique(edges.begin(), edges.end()), edges.end());
  return edges;
}

class Spreader {
 public:
  Spreader(std::vector<std::vector<Piece>>& cells, const std::vector<std::int64_t>& edge)
      : cells_{cells}, edge_{edge} {}

  /// `mass` evenly over low..high, cut at the cells' edges; what lies behind the last is lost.
  void spread(std::int64_t low, std::int64_t high, double mass) {
    if (mass <= 0.0 || high < low) return;
    const double each = mass / static_cast<double>(high - low + 1);
    auto k =
        static_cast<std::size_t>(std::lower_bound(edge_.begin(), edge_.end(), low) - edge_.begin());
    while (low <= high && k < cells_.size()) {
      const std::int64_t upto = k < edge_.size() ? std::min(edge_[k], high) : high;
      cells_[k].push_back({low, upto, each * static_cast<double>(upto - low + 1)});
      low = upto + 1;
      ++k;
    }
  }

 private:
  std::vector<std::vector<Piece>>& cells_;
  const std::vector<std::int64_t>& edge_;
};

double closings(const Unit& unit) {
  double sum = 0.0;
  for (const Segment& run : unit.segments)
    sum += static_cast<double>(run.latest - run.earliest + 1);
  return sum;
}

void spread_over_closings(Spreader& spreader, const Unit& unit, double mass) {
  const double all = closings(unit);
  for (const Segment& run : unit.segments)
    spreader.spread(
        run.earliest, run.latest, mass * static_cast<double>(run.latest - run.earliest + 1) / all);
}

/// Steps within a unit, each with what it counts for.
struct Steps {
  std::vector<std::pair<std::int64_t, double>> at;
  double all{};
};

Steps steps_within(const Unit& unit) {
  Steps inside;
  for (const Step& step : unit.steps) {
    if (step.at <= unit.segments.front().first || step.at > unit.to()) continue;
    inside.at.emplace_back(step.at, step.noted ? 1.0 : not_noted);
    inside.all += inside.at.back().second;
  }
  return inside;
}

std::vector<double> sums(const std::vector<std::vector<Piece>>& cells) {
  std::vector<double> all;
  all.reserve(cells.size());
  for (const auto& cell : cells) {
    double sum = 0.0;
    for (const Piece& piece : cell) sum += piece.mass;
    all.push_back(sum);
  }
  return all;
}

}  // namespace

Axis axis_of(const Unit& unit, const Beliefs& beliefs) {
  Axis axis;
  axis.edge = edges_of(unit);
  axis.uncertain = std::ranges::any_of(
      unit.members, [](const Member& member) { return member.high > member.low; });
  axis.onset.resize(axis.edge.size());
  const auto level = static_cast<std::size_t>(unit.level);
  const auto steps = steps_within(unit);

  Spreader onset{axis.onset, axis.edge};
  const double birth = beliefs.birth[level];
  const double done = std::min(1.0, steps.all);
  const double at_step = beliefs.at_step * done * (1.0 - birth);
  const Segment& first = unit.segments.front();
  const bool open = first.told && first.earliest < first.first;
  const double noted = first.told ? (open ? as_noted : 1.0) : 0.0;
  onset.spread(first.first, first.first, birth * noted);
  onset.spread(first.earliest, open ? first.first - 1 : first.first, birth * (1.0 - noted));
  if (!axis.onset.empty())
    for (const Piece& piece : axis.onset.front()) axis.birth += piece.mass;
  for (const auto& [step, weight] : steps.at)
    onset.spread(step, step, at_step * weight / steps.all);
  spread_over_closings(onset, unit, 1.0 - birth - at_step);

  axis.onset_mass = sums(axis.onset);

  for (Ends& ends : axis.ends) ends.cell.resize(axis.edge.size() + 1);
  auto& [alone, at_steps] = axis.ends;
  alone.share = beliefs.ceases[level];
  Spreader end{alone.cell, axis.edge};
  spread_over_closings(end, unit, 1.0);
  at_steps.share = 1.0 - alone.share;
  at_steps.never = 1.0;
  at_steps.survived = true;
  Spreader mend{at_steps.cell, axis.edge};
  for (const auto& [step, weight] : steps.at) {
    const double here = at_steps.never * beliefs.mended[level] * weight;
    mend.spread(step, step, here);
    at_steps.never -= here;
  }
  for (Ends& ends : axis.ends) ends.mass = sums(ends.cell);
  return axis;
}

}  // namespace goodside::trace
