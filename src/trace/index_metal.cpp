#include <algorithm>
#include <tuple>

#include "trace/indexer.hpp"

namespace goodside::trace {

using works::FamilyPartKind;

void Indexer::number_growers() {
  std::unordered_map<std::string, std::size_t> part_of;
  for (std::size_t p = 0; p < family_.parts.size(); ++p) part_of[family_.parts[p].id] = p;
  std::vector<char> on_side(family_.parts.size(), 0);
  for (int u = 0; u < index_.stampers; ++u) {
    auto at = static_cast<std::size_t>(index_.units[static_cast<std::size_t>(u)].part);
    while (on_side[at] == 0) {
      on_side[at] = 1;
      const auto up = part_of.find(family_.parts[at].parent);
      if (up == part_of.end()) break;
      at = up->second;
    }
  }
  for (const auto kind : {FamilyPartKind::cut, FamilyPartKind::father, FamilyPartKind::mother})
    for (std::size_t p = 0; p < family_.parts.size(); ++p) {
      const auto& part = family_.parts[p];
      if (part.kind != kind || on_side[p] == 0) continue;
      const Level level = kind == FamilyPartKind::cut      ? Level::cut
                          : kind == FamilyPartKind::father ? Level::father
                                                           : Level::mother;
      const auto up = grower_of_.find(part.parent);
      grower_of_[part.id] = static_cast<int>(index_.growers.size());
      index_.growers.push_back({.level = level,
                                .id = part.id,
                                .parent = up == grower_of_.end() ? -1 : up->second,
                                .children = {},
                                .steps = {}});
    }
  hang_children(part_of);
}

/// By their ordinals where they are told, else by their first impression, else as listed.
void Indexer::hang_children(const std::unordered_map<std::string, std::size_t>& part_of) {
  struct Child {
    std::int64_t grown, first;
    int number;
  };
  std::vector<std::vector<Child>> of(index_.growers.size());
  constexpr std::int64_t unknown = std::int64_t{1} << 60;
  const auto hang = [&](std::size_t part, std::int64_t first, int number) {
    const auto up = grower_of_.find(family_.parts[part].parent);
    if (up == grower_of_.end()) return;
    of[static_cast<std::size_t>(up->second)].push_back(
        {family_.parts[part].grown.value_or(unknown), first, number});
  };
  for (int u = 0; u < index_.stampers; ++u) {
    const auto& one = index_.units[static_cast<std::size_t>(u)];
    hang(static_cast<std::size_t>(one.part), one.segments.front().first, -1 - u);
  }
  for (std::size_t g = 0; g < index_.growers.size(); ++g)
    hang(part_of.at(index_.growers[g].id), 0, static_cast<int>(g));
  for (std::size_t g = 0; g < of.size(); ++g) {
    std::stable_sort(of[g].begin(), of[g].end(), [](const Child& a, const Child& b) {
      return std::tie(a.grown, a.first) < std::tie(b.grown, b.first);
    });
    // Stampers and growers may hang on one part (a father that made stampers itself): the
    // sign tells them apart.
    for (const Child& child : of[g]) index_.growers[g].children.push_back(child.number);
    ordinals_.push_back({});
    for (const Child& child : of[g])
      ordinals_.back().push_back(child.grown == unknown
                                     ? static_cast<std::int64_t>(ordinals_.back().size()) + 1
                                     : child.grown);
  }
}

void Indexer::find_steps() {
  for (const auto& step : family_.steps) {
    if (step.at) {
      for (auto& one : index_.units)
        if (one.level == Level::stamper ? one.id == step.part
                                        : one.level == Level::mounting && one.id == step.mounting)
          one.steps.push_back({step.at->last, true});
    }
    const auto grower = grower_of_.find(step.part);
    if (grower == grower_of_.end()) continue;
    auto& part = index_.growers[static_cast<std::size_t>(grower->second)];
    const auto& ordinals = ordinals_[static_cast<std::size_t>(grower->second)];
    for (std::size_t c = 1; c < part.children.size(); ++c) {
      const bool after =
          step.after_grown ? ordinals[c - 1] <= *step.after_grown && ordinals[c] > *step.after_grown
          : step.at        ? first_of(part.children[c - 1]) < step.at->last &&
                          first_of(part.children[c]) >= step.at->first
                    : false;
      if (after) part.steps.push_back(static_cast<std::int64_t>(c));
    }
  }
  for (auto& one : index_.units) {
    // Being taken off and put on again is a step too.
    if (one.level == Level::stamper)
      for (std::size_t s = 1; s < one.segments.size(); ++s)
        one.steps.push_back({one.segments[s].first, false});
    std::sort(one.steps.begin(), one.steps.end(), [](const Step& a, const Step& b) {
      return std::tie(a.at, b.noted) < std::tie(b.at, a.noted);
    });
    const auto same = std::ranges::unique(one.steps, {}, &Step::at);
    one.steps.erase(same.begin(), same.end());
  }
}

std::int64_t Indexer::first_of(int child) const {
  if (child < 0) return index_.units[static_cast<std::size_t>(-1 - child)].segments.front().first;
  std::int64_t first = std::int64_t{1} << 60;
  for (const int next : index_.growers[static_cast<std::size_t>(child)].children)
    first = std::min(first, first_of(next));
  return first;
}

}  // namespace goodside::trace
