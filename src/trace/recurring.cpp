#include "trace/recurring.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <unordered_map>
#include <utility>

#include "base/in_parallel.hpp"
#include "trace/causes.hpp"
#include "trace/gather.hpp"
#include "trace/learn_beliefs.hpp"

namespace goodside::trace {
namespace {

constexpr double worth_learning = -7.0;  ///< log odds under which a place teaches nothing
constexpr double most_chance = 0.35;
constexpr int turns = 3;

std::vector<Said> said_of(const works::Family& family,
                          const FamilyIndex& index,
                          works::DiscSide side) {
  std::unordered_map<std::string, int> heard_of;
  for (std::size_t h = 0; h < index.heard.size(); ++h)
    heard_of[family.discs[static_cast<std::size_t>(index.heard[h].disc)].id] = static_cast<int>(h);
  constexpr double usual_reliability = 0.7, least_within_s = 0.25;
  std::vector<Said> all;
  for (const auto& remark : family.remarks) {
    const auto heard = heard_of.find(remark.disc);
    if (remark.side != side || heard == heard_of.end()) continue;
    Said one{.heard = heard->second,
             .within_s = std::max(least_within_s, remark.within_s),
             .reliability = std::clamp(remark.reliability.value_or(usual_reliability), 0.0, 1.0)};
    if (remark.programme_s) {
      one.programme_s = *remark.programme_s;
    } else {
      one.angle_deg = remark.angle_deg.value_or(-1.0);
      one.radius_m = remark.radius_m.value_or(-1.0);
    }
    all.push_back(one);
  }
  return all;
}

/// A single fault that somebody spoke of elsewhere is a candidate too.
void add_spoken_of(Coincidences& found, const std::vector<Said>& said) {
  constexpr std::size_t most = 200;
  std::size_t added = 0;
  for (const Said& one : said) {
    if (one.programme_s < 0.0) continue;
    auto at = std::lower_bound(found.events.begin(),
                               found.events.end(),
                               one.programme_s - one.within_s,
                               [](const Event& event, double s) { return event.programme_s < s; });
    for (; at != found.events.end() && at->programme_s <= one.programme_s + one.within_s; ++at)
      if (at->heard != one.heard && ++added <= most)
        found.candidates.push_back({.programme_s = at->programme_s,
                                    .sigma_s = found.sigma_s[static_cast<std::size_t>(at->play)],
                                    .chance = 1.0,
                                    .events = {static_cast<int>(at - found.events.begin())}});
  }
}

class Tracer {
 public:
  Tracer(const works::Family& family,
         std::span<const works::HeardPlay> plays,
         works::DiscSide side,
         int jobs)
      : plays_{plays},
        jobs_{jobs},
        out_{index_side(family, plays, side),
             Coincidences{{}, {}, {}, FaultRate{{}, {}, {}, {}}, Marks{{}, {}, {}}, {}},
             {},
             {},
             0.0} {
    if (out_.index.heard.empty()) return;
    out_.found = coincide(out_.index, plays);
    said_ = said_of(family, out_.index, side);
    add_spoken_of(out_.found, said_);
  }

  SideTrace run(double false_discovery_rate) {
    if (out_.index.heard.empty()) return std::move(out_);
    learn_and_drop();
    choose(false_discovery_rate);
    gather();
    for (Recurring& one : out_.recurring) lead_with_likeliest(out_.index, one.why);
    return std::move(out_);
  }

 private:
  [[nodiscard]] Attributor attributor() const {
    return {out_.index, plays_, out_.found, said_, out_.beliefs};
  }

  /// Beliefs by EM; candidates that teach nothing are dropped after the first turn.
  void learn_and_drop() {
    const Beliefs start = out_.beliefs;
    drop_the_hopeless();
    take_strays(out_.found);
    for (int turn = 0; turn < turns; ++turn) {
      explain();
      out_.beliefs = learn(start, why_);
    }
    explain();
  }

  void explain() {
    const Attributor weighs = attributor();
    const bool first = why_.empty();
    why_.resize(out_.found.candidates.size());
    in_parallel(why_.size(), jobs_, [&](std::size_t c) {
      why_[c] = weighs.explain(out_.found.candidates[c], first ? nullptr : &why_[c]);
    });
  }

  /// Candidates with no odds to speak of; and of those that share faults all but the likeliest.
  void drop_the_hopeless() {
    auto& candidates = out_.found.candidates;
    const Attributor weighs = attributor();
    std::vector<double> odds(candidates.size());
    in_parallel(
        candidates.size(), jobs_, [&](std::size_t c) { odds[c] = weighs.log_odds(candidates[c]); });
    std::vector<std::size_t> order;
    for (std::size_t c = 0; c < candidates.size(); ++c)
      if (odds[c] > worth_learning) order.push_back(c);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return odds[a] > odds[b];
    });
    std::vector<char> taken(out_.found.events.size(), 0), keep(candidates.size(), 0);
    for (const std::size_t c : order) {
      if (std::ranges::any_of(candidates[c].events,
                              [&](int e) { return taken[static_cast<std::size_t>(e)] != 0; }))
        continue;
      keep[c] = 1;
      for (const int e : candidates[c].events) taken[static_cast<std::size_t>(e)] = 1;
    }
    std::vector<Candidate> kept;
    for (std::size_t c = 0; c < candidates.size(); ++c)
      if (keep[c] != 0) kept.push_back(std::move(candidates[c]));
    candidates = std::move(kept);
  }

  void choose(double false_discovery_rate) {
    std::vector<std::size_t> order(why_.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return why_[a].chance < why_[b].chance;
    });
    double sum = 0.0;
    std::vector<std::size_t> taken;
    for (const std::size_t c : order) {
      if (why_[c].on.size() + static_cast<std::size_t>(why_[c].spoken_of) < 2) continue;
      const double mean = (sum + why_[c].chance) / static_cast<double>(taken.size() + 1);
      if (why_[c].chance > most_chance || mean > false_discovery_rate) break;
      sum += why_[c].chance;
      taken.push_back(c);
    }
    out_.false_share = taken.empty() ? 0.0 : sum / static_cast<double>(taken.size());
    std::sort(taken.begin(), taken.end(), [&](std::size_t a, std::size_t b) {
      return out_.found.candidates[a].programme_s < out_.found.candidates[b].programme_s;
    });
    for (const std::size_t c : taken) {
      const Candidate& place = out_.found.candidates[c];
      out_.recurring.push_back({place, {place}, std::move(why_[c])});
    }
  }

  void gather() {
    const auto groups = gather_patterns(out_.recurring, out_.found, plays_);
    if (groups.size() == out_.recurring.size()) return;
    const Attributor weighs = attributor();
    std::vector<Recurring> all;
    for (const auto& group : groups) {
      Recurring one = std::move(out_.recurring[group.front()]);
      if (group.size() > 1) {
        for (std::size_t i = 1; i < group.size(); ++i)
          one.places.push_back(out_.recurring[group[i]].place);
        one.place = joined(one.places, out_.found);
        one.why = weighs.explain(one.place, &one.why);
      }
      all.push_back(std::move(one));
    }
    out_.recurring = std::move(all);
  }

  std::span<const works::HeardPlay> plays_;
  int jobs_;
  std::vector<Said> said_;
  std::vector<Attribution> why_;
  SideTrace out_;
};

}  // namespace

SideTrace trace_side(const works::Family& family,
                     std::span<const works::HeardPlay> plays,
                     works::DiscSide side,
                     double false_discovery_rate,
                     int jobs) {
  return Tracer{family, plays, side, jobs}.run(false_discovery_rate);
}

}  // namespace goodside::trace
