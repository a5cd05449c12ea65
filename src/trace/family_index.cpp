#include "trace/family_index.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>
#include <unordered_map>

namespace goodside::trace {
namespace {

using works::FamilyPartKind;

constexpr double whole_side = 0.999;  ///< share of the cut that counts as all of it

bool heard_whole(const works::HeardPlay& play) {
  if (play.heard.empty()) return true;
  double sum_s = 0.0;
  for (const auto& part : play.heard) sum_s += part.to_s - part.from_s;
  return sum_s >= whole_side * play.length_s;
}

std::int64_t middle(const works::Impressions& range) {
  return range.first + (range.last - range.first) / 2;
}

class Indexer {
 public:
  Indexer(const works::Family& family,
          std::span<const works::HeardPlay> plays,
          works::DiscSide side)
      : family_{family}, plays_{plays}, side_{side} {
    index_.side = side;
  }

  FamilyIndex run() {
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

 private:
  void number_heard() {
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

  void find_reach() {
    for (const auto& disc : family_.discs)
      if (disc.impression) last_ = std::max(last_, disc.impression->last);
    for (const auto& stock : family_.stock) last_ = std::max(last_, stock.impressions.last);
  }

  int unit(Level level, const std::string& id) {
    const auto [at, fresh] =
        number_of_.try_emplace({level, id}, static_cast<int>(index_.units.size()));
    if (fresh)
      index_.units.push_back(
          {.level = level, .id = id, .part = -1, .segments = {}, .steps = {}, .members = {}});
    return at->second;
  }

  /// Stampers that pressed this side, in the order of the parts.
  void number_stampers() {
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

  void number_others() {
    for (const auto& disc : family_.discs) {
      if (!disc.mounting.empty()) unit(Level::mounting, disc.mounting);
      if (!disc.press.empty()) unit(Level::press, disc.press);
      if (!disc.batch.empty()) unit(Level::batch, disc.batch);
    }
  }

  /// The press of each disc: as told, or that of the disc of its stamper that was pressed nearest.
  void find_presses() {
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

  void find_starts() {
    for (const auto& step : family_.steps)
      if (!step.mounting.empty() && step.at && step.what.starts_with("mount"))
        start_of_[step.mounting] = step.at->first;
  }

  struct Placed {
    std::int64_t at;
    std::size_t disc;
  };

  /// The runs of one press, each of one stamper and mounting, and how far each may reach: up to its
  /// neighbours on that press. Discs that are known exactly make the runs; a disc of an interval
  /// says no more than that its stamper reached into it.
  void find_segments() {
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
      std::stable_sort(placed.begin(), placed.end(), [](const Placed& a, const Placed& b) {
        return a.at < b.at;
      });
      find_runs(placed);
    }
    for (std::size_t d = 0; d < family_.discs.size(); ++d) {
      const auto& disc = family_.discs[d];
      if (!disc.impression) continue;
      for (const int u :
           {known_unit(Level::press, disc.press), known_unit(Level::batch, disc.batch)})
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

  [[nodiscard]] int known_unit(Level level, const std::string& id) const {
    const auto at = number_of_.find({level, id});
    return at == number_of_.end() ? -1 : at->second;
  }

  void find_runs(const std::vector<Placed>& placed) {
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
  static void reach_into(Unit& one, const works::Impressions& range) {
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

  void add_segment(int number, const Segment& segment) {
    index_.units[static_cast<std::size_t>(number)].segments.push_back(segment);
  }

  /// In order; a batch and a press are one stretch, a stamper taken off and put on again two.
  void join_segments(Unit& one) const {
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

  void number_growers() {
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
  void hang_children(const std::unordered_map<std::string, std::size_t>& part_of) {
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

  void find_steps() {
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
        const bool after = step.after_grown ? ordinals[c - 1] <= *step.after_grown &&
                                                  ordinals[c] > *step.after_grown
                           : step.at ? first_of(part.children[c - 1]) < step.at->last &&
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

  [[nodiscard]] std::int64_t first_of(int child) const {
    if (child < 0) return index_.units[static_cast<std::size_t>(-1 - child)].segments.front().first;
    std::int64_t first = std::int64_t{1} << 60;
    for (const int next : index_.growers[static_cast<std::size_t>(child)].children)
      first = std::min(first, first_of(next));
    return first;
  }

  void add_member(int number, int heard, const works::FamilyDisc& disc, double share) {
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
  void add_loose(int heard, const works::FamilyDisc& disc) {
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
  void add_to_mountings(int heard, const works::FamilyDisc& disc) {
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
  void add_to_batches(int heard, const works::FamilyDisc& disc) {
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

  void list_mountings() {
    for (const auto& disc : family_.discs) {
      if (disc.mounting.empty() || disc.stamper_of(side_).empty()) continue;
      auto& list = mountings_of_[disc.stamper_of(side_)];
      const int u = known_unit(Level::mounting, disc.mounting);
      if (std::ranges::find(list, u) == list.end()) list.push_back(u);
    }
    for (std::size_t u = 0; u < index_.units.size(); ++u)
      if (index_.units[u].level == Level::batch) batches_.push_back(static_cast<int>(u));
  }

  void find_members() {
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
      std::stable_sort(
          one.members.begin(), one.members.end(), [](const Member& a, const Member& b) {
            return std::tie(a.low, a.high) < std::tie(b.low, b.high);
          });
  }

  void count_nodes() {
    for (const auto& one : index_.units) ++index_.nodes[static_cast<std::size_t>(one.level)];
    for (const auto& one : index_.growers) ++index_.nodes[static_cast<std::size_t>(one.level)];
  }

  const works::Family& family_;
  std::span<const works::HeardPlay> plays_;
  works::DiscSide side_;
  FamilyIndex index_;
  std::int64_t last_{0};
  std::map<std::pair<Level, std::string>, int> number_of_;
  std::vector<std::string> press_;  ///< of each disc, inferred where it is not told
  std::unordered_map<std::string, std::int64_t> start_of_;  ///< of a mounting: first impression
  std::unordered_map<std::string, std::vector<int>> mountings_of_;
  std::vector<int> batches_;
  std::unordered_map<std::string, int> grower_of_;
  std::vector<std::vector<std::int64_t>> ordinals_;
};

}  // namespace

FamilyIndex index_side(const works::Family& family,
                       std::span<const works::HeardPlay> plays,
                       works::DiscSide side) {
  return Indexer{family, plays, side}.run();
}

}  // namespace goodside::trace
