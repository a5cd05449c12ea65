#include "trace/family_index.hpp"

#include <algorithm>

#include "trace/indexer.hpp"

namespace goodside::trace {

using works::FamilyPartKind;
namespace {

constexpr double whole_side = 0.999;  ///< share of the cut that counts as all of it

bool heard_whole(const works::HeardPlay& play) {
  if (play.heard.empty()) return true;
  double sum_s = 0.0;
  for (const auto& part : play.heard) sum_s += part.to_s - part.from_s;
  return sum_s >= whole_side * play.length_s;
}

}  // namespace

FamilyIndex Indexer::run() {
  number_heard();
  find_reach();
  number_stampers();
  number_others();
  find_segments();
  number_growers();
  find_steps();
  find_members();
  count_nodes();
  return std::move(index_);
}

void Indexer::number_heard() {
  std::unordered_map<std::string, int> disc_number;
  for (std::size_t d = 0; d < family_.discs.size(); ++d)
    disc_number.emplace(family_.discs[d].id, static_cast<int>(d));
  std::vector<int> heard_number(family_.discs.size(), -1);
  for (std::size_t p = 0; p < plays_.size(); ++p) {
    if (plays_[p].side != side_) continue;
    index_.length_s = std::max(index_.length_s, plays_[p].length_s);
    const auto found = disc_number.find(plays_[p].disc);
    if (found == disc_number.end()) continue;
    int& number = heard_number[static_cast<std::size_t>(found->second)];
    if (number < 0) {
      number = static_cast<int>(index_.heard.size());
      index_.heard.push_back({.disc = found->second, .plays = {}, .whole = true});
    }
    auto& heard = index_.heard[static_cast<std::size_t>(number)];
    heard.plays.push_back(static_cast<int>(p));
    heard.whole = heard.whole && heard_whole(plays_[p]);
  }
  for (const auto& remark : family_.remarks) {
    const auto found = disc_number.find(remark.disc);
    if (remark.side != side_ || found == disc_number.end() || index_.heard.empty()) continue;
    int& number = heard_number[static_cast<std::size_t>(found->second)];
    if (number >= 0) continue;
    number = static_cast<int>(index_.heard.size());
    index_.heard.push_back({.disc = found->second, .plays = {}, .whole = true});
  }
  for (auto& heard : index_.heard)
    std::stable_sort(heard.plays.begin(), heard.plays.end(), [&](int a, int b) {
      return plays_[static_cast<std::size_t>(a)].play < plays_[static_cast<std::size_t>(b)].play;
    });
}

void Indexer::find_reach() {
  for (const auto& disc : family_.discs)
    if (disc.impression) last_ = std::max(last_, disc.impression->last);
  for (const auto& stock : family_.stock) last_ = std::max(last_, stock.impressions.last);
}

int Indexer::unit(Level level, const std::string& id) {
  const auto [at, fresh] =
      number_of_.try_emplace({level, id}, static_cast<int>(index_.units.size()));
  if (fresh)
    index_.units.push_back(
        {.level = level, .id = id, .part = -1, .segments = {}, .steps = {}, .members = {}});
  return at->second;
}

/// Stampers that pressed this side, in the order of the parts.
void Indexer::number_stampers() {
  std::unordered_map<std::string, bool> pressed;
  for (const auto& disc : family_.discs)
    if (const auto& stamper = disc.stamper_of(side_); !stamper.empty()) pressed[stamper] = true;
  for (std::size_t p = 0; p < family_.parts.size(); ++p) {
    const auto& part = family_.parts[p];
    if (part.kind != FamilyPartKind::stamper || !pressed.contains(part.id)) continue;
    index_.units[static_cast<std::size_t>(unit(Level::stamper, part.id))].part =
        static_cast<int>(p);
  }
  index_.stampers = static_cast<int>(index_.units.size());
}

void Indexer::number_others() {
  for (const auto& disc : family_.discs) {
    if (!disc.mounting.empty()) unit(Level::mounting, disc.mounting);
    if (!disc.press.empty()) unit(Level::press, disc.press);
    if (!disc.batch.empty()) unit(Level::batch, disc.batch);
  }
}

int Indexer::known_unit(Level level, const std::string& id) const {
  const auto at = number_of_.find({level, id});
  return at == number_of_.end() ? -1 : at->second;
}

void Indexer::count_nodes() {
  for (const auto& one : index_.units) ++index_.nodes[static_cast<std::size_t>(one.level)];
  for (const auto& one : index_.growers) ++index_.nodes[static_cast<std::size_t>(one.level)];
}

FamilyIndex index_side(const works::Family& family,
                       std::span<const works::HeardPlay> plays,
                       works::DiscSide side) {
  return Indexer{family, plays, side}.run();
}

}  // namespace goodside::trace
