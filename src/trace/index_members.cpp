#include <algorithm>
#include <tuple>

#include "trace/indexer.hpp"

namespace goodside::trace {

void Indexer::add_member(int number, int heard, const works::FamilyDisc& disc, double share) {
  auto& one = index_.units[static_cast<std::size_t>(number)];
  Member member{.heard = heard, .low = one.from(), .high = one.to(), .share = share};
  if (disc.impression) {
    member.low = disc.impression->first;
    member.high = disc.impression->last;
    if (one.from() <= member.high && one.to() >= member.low) {
      member.low = std::max(member.low, one.from());
      member.high = std::min(member.high, one.to());
    }
  }
  one.members.push_back(member);
  index_.units_of[static_cast<std::size_t>(heard)].push_back(number);
}

/// Every stamper that may have pressed a disc of which nobody noted it.
void Indexer::add_loose(int heard, const works::FamilyDisc& disc) {
  std::vector<int> may;
  for (int u = 0; u < index_.stampers; ++u) {
    if (!disc.impression) {
      may.push_back(u);
      continue;
    }
    for (const Segment& run : index_.units[static_cast<std::size_t>(u)].segments)
      if (disc.impression->first <= run.latest && disc.impression->last >= run.earliest) {
        may.push_back(u);
        break;
      }
  }
  for (const int u : may) add_member(u, heard, disc, 1.0 / static_cast<double>(may.size()));
}

/// Mountings of the disc's stamper, by how much of its interval each may have pressed.
void Indexer::add_to_mountings(int heard, const works::FamilyDisc& disc) {
  const auto list = mountings_of_.find(disc.stamper_of(side_));
  if (list == mountings_of_.end()) return;
  std::vector<double> weight;
  double all = 0.0;
  for (const int u : list->second) {
    double sum = 0.0;
    for (const Segment& run : index_.units[static_cast<std::size_t>(u)].segments) {
      const std::int64_t low =
          disc.impression ? std::max(disc.impression->first, run.earliest) : run.earliest;
      const std::int64_t high =
          disc.impression ? std::min(disc.impression->last, run.latest) : run.latest;
      sum += static_cast<double>(std::max<std::int64_t>(0, high - low + 1));
    }
    weight.push_back(sum);
    all += sum;
  }
  if (all <= 0.0) return;
  constexpr double another = 0.03;  // a mounting of which no disc is known
  for (std::size_t i = 0; i < weight.size(); ++i)
    if (weight[i] > 0.0)
      add_member(list->second[i], heard, disc, (1.0 - another) * weight[i] / all);
}

/// A batch is pressed without another between: a disc that lies within it is of it.
void Indexer::add_to_batches(int heard, const works::FamilyDisc& disc) {
  if (!disc.impression) return;
  for (const int u : batches_) {
    const Segment& run = index_.units[static_cast<std::size_t>(u)].segments.front();
    const std::int64_t low = std::max(disc.impression->first, run.earliest);
    const std::int64_t high = std::min(disc.impression->last, run.latest);
    if (high >= low)
      add_member(u,
                 heard,
                 disc,
                 0.97 * static_cast<double>(high - low + 1) /
                     static_cast<double>(disc.impression->width()));
  }
}

void Indexer::list_mountings() {
  for (const auto& disc : family_.discs) {
    if (disc.mounting.empty() || disc.stamper_of(side_).empty()) continue;
    auto& list = mountings_of_[disc.stamper_of(side_)];
    const int u = known_unit(Level::mounting, disc.mounting);
    if (std::ranges::find(list, u) == list.end()) list.push_back(u);
  }
  for (std::size_t u = 0; u < index_.units.size(); ++u)
    if (index_.units[u].level == Level::batch) batches_.push_back(static_cast<int>(u));
}

void Indexer::find_members() {
  list_mountings();
  index_.units_of.resize(index_.heard.size());
  for (std::size_t h = 0; h < index_.heard.size(); ++h) {
    const auto d = static_cast<std::size_t>(index_.heard[h].disc);
    const auto& disc = family_.discs[d];
    const int heard = static_cast<int>(h);
    if (const auto& stamper = disc.stamper_of(side_); !stamper.empty())
      add_member(unit(Level::stamper, stamper), heard, disc, 1.0);
    else
      add_loose(heard, disc);
    if (!disc.mounting.empty())
      add_member(unit(Level::mounting, disc.mounting), heard, disc, 1.0);
    else
      add_to_mountings(heard, disc);
    if (const int press = known_unit(Level::press, press_[d]); press >= 0)
      add_member(press, heard, disc, disc.press.empty() ? 0.9 : 1.0);
    if (!disc.batch.empty())
      add_member(unit(Level::batch, disc.batch), heard, disc, 1.0);
    else
      add_to_batches(heard, disc);
  }
  for (auto& one : index_.units)
    std::stable_sort(one.members.begin(), one.members.end(), [](const Member& a, const Member& b) {
      return std::tie(a.low, a.high) < std::tie(b.low, b.high);
    });
}

}  // namespace goodside::trace
