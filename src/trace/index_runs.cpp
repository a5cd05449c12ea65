#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "trace/indexer.hpp"

namespace goodside::trace {
namespace {

std::int64_t middle(const works::Impressions& range) {
  return range.first + (range.last - range.first) / 2;
}

}  // namespace

/// The press of each disc: as told, or that of the disc of its stamper that was pressed nearest.
void Indexer::find_presses() {
  std::map<std::string, std::vector<std::pair<std::int64_t, std::string>>> known;
  for (const auto& disc : family_.discs)
    if (!disc.press.empty() && disc.impression && !disc.stamper_of(side_).empty())
      known[disc.stamper_of(side_)].emplace_back(middle(*disc.impression), disc.press);
  for (auto& [stamper, list] : known) std::sort(list.begin(), list.end());
  press_.reserve(family_.discs.size());
  for (const auto& disc : family_.discs) {
    press_.push_back(disc.press);
    const auto list = known.find(disc.stamper_of(side_));
    if (!disc.press.empty() || list == known.end()) continue;
    const std::int64_t at = disc.impression ? middle(*disc.impression) : 0;
    auto next = std::lower_bound(
        list->second.begin(), list->second.end(), std::pair<std::int64_t, std::string>{at, ""});
    if (next == list->second.end() ||
        (next != list->second.begin() && at - std::prev(next)->first < next->first - at))
      --next;
    press_.back() = next->second;
  }
}

void Indexer::find_starts() {
  for (const auto& step : family_.steps)
    if (!step.mounting.empty() && step.at && step.what.starts_with("mount"))
      start_of_[step.mounting] = step.at->first;
}

/// The runs of one press, each of one stamper and mounting, and how far each may reach: up to its
/// neighbours on that press. Discs that are known exactly make the runs; a disc of an interval
/// says no more than that its stamper reached into it.
void Indexer::find_segments() {
  find_presses();
  find_starts();
  std::map<std::string, std::vector<Placed>> by_press;
  std::set<std::string> begun;  // a noted start places a mounting as a disc of it does
  for (std::size_t d = 0; d < family_.discs.size(); ++d) {
    const auto& disc = family_.discs[d];
    if (disc.stamper_of(side_).empty()) continue;
    if (disc.impression && disc.impression->width() == 1)
      by_press[press_[d]].push_back({disc.impression->first, d});
    const auto start = start_of_.find(disc.mounting);
    if (start != start_of_.end() && begun.insert(disc.mounting).second)
      by_press[press_[d]].push_back({start->second, d});
  }
  for (auto& [press, placed] : by_press) {
    std::stable_sort(
        placed.begin(), placed.end(), [](const Placed& a, const Placed& b) { return a.at < b.at; });
    find_runs(placed);
  }
  for (std::size_t d = 0; d < family_.discs.size(); ++d) {
    const auto& disc = family_.discs[d];
    if (!disc.impression) continue;
    for (const int u : {known_unit(Level::press, disc.press), known_unit(Level::batch, disc.batch)})
      if (u >= 0)
        add_segment(u,
                    {disc.impression->first,
                     disc.impression->last,
                     disc.impression->first,
                     disc.impression->last,
                     false});
  }
  for (auto& one : index_.units) join_segments(one);
  for (const auto& disc : family_.discs) {
    if (!disc.impression || disc.impression->width() == 1) continue;
    for (const int u : {known_unit(Level::stamper, disc.stamper_of(side_)),
                        known_unit(Level::mounting, disc.mounting)})
      if (u >= 0) reach_into(index_.units[static_cast<std::size_t>(u)], *disc.impression);
  }
  for (auto& one : index_.units)
    if (one.segments.empty())
      one.segments.push_back(
          {1, std::max<std::int64_t>(1, last_), 1, std::max<std::int64_t>(1, last_), false});
}

void Indexer::find_runs(const std::vector<Placed>& placed) {
  std::int64_t before = 0;
  for (std::size_t i = 0; i < placed.size();) {
    const auto& head = family_.discs[placed[i].disc];
    std::string mounting = head.mounting;
    std::size_t j = i;
    // A disc whose mounting nobody noted goes with its neighbours of the same stamper.
    for (; j < placed.size(); ++j) {
      const auto& disc = family_.discs[placed[j].disc];
      if (disc.stamper_of(side_) != head.stamper_of(side_)) break;
      if (!disc.mounting.empty() && !mounting.empty() && disc.mounting != mounting) break;
      if (mounting.empty()) mounting = disc.mounting;
    }
    Segment run{
        .earliest = before + 1, .first = placed[i].at, .last = placed[j - 1].at, .latest = last_};
    if (j < placed.size()) {
      run.latest = placed[j].at - 1;
      const auto start = start_of_.find(family_.discs[placed[j].disc].mounting);
      if (start != start_of_.end() && start->second > run.last)
        run.latest = std::min(run.latest, start->second - 1);
    }
    const auto start = start_of_.find(mounting);
    if (start != start_of_.end() && start->second > before && start->second <= run.first)
      run.first = start->second, run.told = true;
    before = std::max(before, run.last);
    // Taken off and put on again: a step, noted or not.
    if (i > 0 && family_.discs[placed[i - 1].disc].stamper_of(side_) == head.stamper_of(side_))
      index_.units[static_cast<std::size_t>(unit(Level::stamper, head.stamper_of(side_)))]
          .steps.push_back({run.first, false});
    // The stamper may have been mounted before, with no disc known of it.
    add_segment(unit(Level::stamper, head.stamper_of(side_)), run);
    if (run.told) run.earliest = run.first;
    if (!mounting.empty()) add_segment(unit(Level::mounting, mounting), run);
    i = j;
  }
}

/// An interval disc narrows what is not known of the first and last impression.
void Indexer::reach_into(Unit& one, const works::Impressions& range) {
  bool met = false;
  for (Segment& run : one.segments) {
    if (range.last < run.earliest || range.first > run.latest) continue;
    met = true;
    run.first = std::min(run.first, range.last);
    run.last = std::max(run.last, range.first);
  }
  if (met) return;
  one.segments.push_back({range.first, range.last, range.first, range.last, false});
  std::sort(one.segments.begin(), one.segments.end(), [](const Segment& a, const Segment& b) {
    return a.earliest < b.earliest;
  });
}

void Indexer::add_segment(int number, const Segment& segment) {
  index_.units[static_cast<std::size_t>(number)].segments.push_back(segment);
}

/// In order; a batch and a press are one stretch, a stamper taken off and put on again two.
void Indexer::join_segments(Unit& one) const {
  auto& all = one.segments;
  std::sort(all.begin(), all.end(), [](const Segment& a, const Segment& b) {
    return std::tie(a.earliest, a.latest) < std::tie(b.earliest, b.latest);
  });
  const bool whole = one.level == Level::batch || one.level == Level::press;
  std::vector<Segment> joined;
  for (const Segment& next : all) {
    if (joined.empty() || !(whole || next.earliest <= joined.back().latest + 1)) {
      joined.push_back(next);
      continue;
    }
    joined.back().first = std::min(joined.back().first, next.first);
    joined.back().last = std::max(joined.back().last, next.last);
    joined.back().latest = std::max(joined.back().latest, next.latest);
  }
  all = std::move(joined);
}

}  // namespace goodside::trace
