#include "trace/coincide.hpp"

#include <algorithm>
#include <cmath>
#include <deque>
#include <numeric>
#include <tuple>
#include <utility>

#include "stats/poisson.hpp"

namespace goodside::trace {
namespace {

constexpr double half_window = 2.5;    ///< sigmas each way of the window that is passed over
constexpr double reach = 4.0;          ///< sigmas within which a fault may belong to a place
constexpr double far_reach = 9.0;      ///< the same, where it has no other find there
constexpr double screen = 0.05;        ///< chance above which a place is not looked at
constexpr double plainly = 1e-9;       ///< chance of what is kept out when rates are learned
constexpr double jitter_weight = 6.0;  ///< faults that the common jitter counts for, a play

std::vector<Event> events_of(const FamilyIndex& index, std::span<const works::HeardPlay> plays) {
  std::vector<Event> events;
  std::size_t count = 0;
  for (const auto& heard : index.heard)
    for (const int p : heard.plays) count += plays[static_cast<std::size_t>(p)].faults.size();
  events.reserve(count);
  for (std::size_t h = 0; h < index.heard.size(); ++h)
    for (const int p : index.heard[h].plays) {
      const auto& faults = plays[static_cast<std::size_t>(p)].faults;
      for (std::size_t f = 0; f < faults.size(); ++f)
        events.push_back({faults[f].programme_s, static_cast<int>(h), p, static_cast<int>(f)});
    }
  std::sort(events.begin(), events.end(), [](const Event& a, const Event& b) {
    return std::tie(a.programme_s, a.heard, a.play, a.fault) <
           std::tie(b.programme_s, b.heard, b.play, b.fault);
  });
  return events;
}

/// A peak of the scan: where, and how unlikely.
struct Peak {
  double programme_s, chance;
};

class Scanner {
 public:
  Scanner(const FamilyIndex& index,
          std::span<const Event> events,
          const std::vector<double>& sigma_s,
          const FaultRate& rate)
      : index_{index},
        events_{events},
        sigma_s_{sigma_s},
        rate_{rate},
        in_window_(index.heard.size(), 0) {
    std::vector<double> all = sigma_s;
    if (!all.empty()) {
      std::nth_element(
          all.begin(), all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2), all.end());
      window_s_ = half_window * all[all.size() / 2];
    }
  }

  std::vector<Peak> peaks() {
    std::vector<int> order(events_.size());
    std::iota(order.begin(), order.end(), 0);
    scan(order);
    std::vector<int> group_of(index_.heard.size(), -1);
    for (const bool by_mother : {false, true}) {
      const int groups = number_groups(by_mother, group_of);
      if (groups < 2) continue;
      std::vector<std::vector<int>> of(static_cast<std::size_t>(groups));
      for (std::size_t e = 0; e < events_.size(); ++e)
        if (const int g = group_of[static_cast<std::size_t>(events_[e].heard)]; g >= 0)
          of[static_cast<std::size_t>(g)].push_back(static_cast<int>(e));
      for (const auto& part : of) scan(part);
    }
    std::sort(peaks_.begin(), peaks_.end(), [](const Peak& a, const Peak& b) {
      return std::tie(a.programme_s, a.chance) < std::tie(b.programme_s, b.chance);
    });
    return std::move(peaks_);
  }

  [[nodiscard]] double window_s() const { return window_s_; }

 private:
  int number_groups(bool by_mother, std::vector<int>& group_of) const {
    std::vector<int> grower_of(static_cast<std::size_t>(index_.stampers), -1);
    for (std::size_t g = 0; g < index_.growers.size(); ++g)
      for (const int child : index_.growers[g].children)
        if (child < 0) grower_of[static_cast<std::size_t>(-1 - child)] = static_cast<int>(g);
    std::fill(group_of.begin(), group_of.end(), -1);
    for (std::size_t h = 0; h < group_of.size(); ++h)
      for (const int u : index_.units_of[h])
        if (u < index_.stampers)
          group_of[h] = by_mother ? grower_of[static_cast<std::size_t>(u)] : u;
    return by_mother ? static_cast<int>(index_.growers.size()) : index_.stampers;
  }

  void enter(int event, int by) {
    int& count =
        in_window_[static_cast<std::size_t>(events_[static_cast<std::size_t>(event)].heard)];
    if (by > 0 && count++ == 0) ++discs_;
    if (by < 0 && --count == 0) --discs_;
  }

  [[nodiscard]] double at(int event) const {
    return events_[static_cast<std::size_t>(event)].programme_s;
  }

  void scan(const std::vector<int>& order) {
    if (order.size() < 2) return;
    double all_discs = 0.0;
    std::vector<char> met(index_.heard.size(), 0);
    for (const int e : order) {
      const auto h = static_cast<std::size_t>(events_[static_cast<std::size_t>(e)].heard);
      if (met[h] == 0) all_discs += rate_.disc(static_cast<int>(h));
      met[h] = 1;
    }
    std::vector<double> chance(order.size(), 1.0);
    std::size_t low = 0, high = 0;
    for (std::size_t i = 0; i < order.size(); ++i) {
      const double here = at(order[i]);
      while (high < order.size() && at(order[high]) <= here + window_s_) enter(order[high++], 1);
      while (at(order[low]) < here - window_s_) enter(order[low++], -1);
      if (discs_ < 2) continue;
      const double others =
          std::max(0.0, all_discs - rate_.disc(events_[static_cast<std::size_t>(order[i])].heard));
      const double mean = others * rate_.local(here) * 2.0 * window_s_;
      if (discs_ - 1 <= mean) continue;
      chance[i] = stats::poisson_tail(discs_ - 1, mean);
    }
    while (low < high) enter(order[low++], -1);
    keep_lowest(order, chance);
  }

  /// Of neighbours within two windows the least likely; of equals the one in the middle.
  void keep_lowest(const std::vector<int>& order, const std::vector<double>& chance) {
    for (std::size_t i = 0; i < order.size();) {
      if (chance[i] > screen) {
        ++i;
        continue;
      }
      std::size_t j = i + 1;  // a chain of marked places, none further than a window from the next
      while (j < order.size() && chance[j] <= screen &&
             at(order[j]) - at(order[j - 1]) <= window_s_)
        ++j;
      lowest_of_chain(order, chance, i, j);
      i = j;
    }
  }

  void lowest_of_chain(const std::vector<int>& order,
                       const std::vector<double>& chance,
                       std::size_t from,
                       std::size_t to) {
    std::deque<std::size_t> falling;  // candidates for the least within the window, least first
    std::size_t ahead = from;
    for (std::size_t i = from; i < to; ++i) {
      for (; ahead < to && at(order[ahead]) <= at(order[i]) + window_s_; ++ahead) {
        while (!falling.empty() && chance[falling.back()] > chance[ahead]) falling.pop_back();
        falling.push_back(ahead);
      }
      while (at(order[falling.front()]) < at(order[i]) - window_s_) falling.pop_front();
      if (falling.front() == i) peaks_.push_back({at(order[i]), chance[i]});
    }
  }

  const FamilyIndex& index_;
  std::span<const Event> events_;
  const std::vector<double>& sigma_s_;
  const FaultRate& rate_;
  std::vector<int> in_window_;
  int discs_{0};
  double window_s_{1e-3};
  std::vector<Peak> peaks_;
};

/// The place refined: weighted mean of what lies within the window round it, twice over.
class Gatherer {
 public:
  Gatherer(std::span<const Event> events, const std::vector<double>& sigma_s)
      : events_{events}, sigma_s_{sigma_s} {
    for (const double s : sigma_s) widest_s_ = std::max(widest_s_, s);
  }

  [[nodiscard]] Candidate around(const Peak& peak, double window_s) const {
    Candidate found{
        .programme_s = peak.programme_s, .sigma_s = 0.0, .chance = peak.chance, .events = {}};
    for (int turn = 0; turn < 3; ++turn) {
      double weight = 0.0, sum = 0.0;
      for (std::size_t e = first(found.programme_s - window_s);
           e < events_.size() && events_[e].programme_s <= found.programme_s + window_s;
           ++e) {
        const double sigma = sigma_of(e);
        weight += 1.0 / (sigma * sigma);
        sum += (events_[e].programme_s - peak.programme_s) / (sigma * sigma);
      }
      if (weight <= 0.0) break;
      found.programme_s = peak.programme_s + sum / weight;
      found.sigma_s = 1.0 / std::sqrt(weight);
    }
    take_nearest(found);
    return found;
  }

 private:
  [[nodiscard]] double sigma_of(std::size_t e) const {
    return sigma_s_[static_cast<std::size_t>(events_[e].play)];
  }
  [[nodiscard]] std::size_t first(double from_s) const {
    return static_cast<std::size_t>(
        std::lower_bound(events_.begin(),
                         events_.end(),
                         from_s,
                         [](const Event& event, double s) { return event.programme_s < s; }) -
        events_.begin());
  }
  void take_nearest(Candidate& found) const {
    std::vector<std::pair<int, int>> by_play;  // play, event
    for (std::size_t e = first(found.programme_s - reach * widest_s_);
         e < events_.size() && events_[e].programme_s <= found.programme_s + reach * widest_s_;
         ++e)
      if (std::abs(events_[e].programme_s - found.programme_s) <= reach * sigma_of(e))
        by_play.emplace_back(events_[e].play, static_cast<int>(e));
    std::sort(by_play.begin(), by_play.end(), [&](const auto& a, const auto& b) {
      return std::tuple{a.first, off(a.second, found), a.second} <
             std::tuple{b.first, off(b.second, found), b.second};
    });
    for (std::size_t i = 0; i < by_play.size(); ++i)
      if (i == 0 || by_play[i].first != by_play[i - 1].first)
        found.events.push_back(by_play[i].second);
    std::sort(found.events.begin(), found.events.end());
  }
  [[nodiscard]] double off(int event, const Candidate& found) const {
    return std::abs(events_[static_cast<std::size_t>(event)].programme_s - found.programme_s);
  }

  std::span<const Event> events_;
  const std::vector<double>& sigma_s_;
  double widest_s_{};
};

/// One candidate a place: peaks of several scans within a sigma or so are one.
std::vector<Candidate> gathered(const std::vector<Peak>& peaks,
                                std::span<const Event> events,
                                const std::vector<double>& sigma_s,
                                double window_s) {
  const Gatherer gatherer{events, sigma_s};
  std::vector<Candidate> all;
  for (std::size_t i = 0; i < peaks.size();) {
    std::size_t j = i, best = i;
    for (; j < peaks.size() && peaks[j].programme_s - peaks[i].programme_s <= window_s; ++j)
      if (peaks[j].chance < peaks[best].chance) best = j;
    Candidate found = gatherer.around(peaks[best], window_s);
    if (found.events.size() > 1 && (all.empty() || all.back().events != found.events))
      all.push_back(std::move(found));
    i = j;
  }
  return all;
}

/// Each play's own jitter from its distance to places that are plainly no chance, drawn towards
/// the common one as an inverse gamma prior does.
void learn_plays(const std::vector<Candidate>& candidates,
                 std::span<const Event> events,
                 std::vector<double>& sigma_s) {
  std::vector<double> squares(sigma_s.size(), 0.0), count(sigma_s.size(), 0.0);
  for (const Candidate& one : candidates) {
    if (one.chance > plainly || one.events.size() < 4) continue;
    for (const int e : one.events) {
      const Event& event = events[static_cast<std::size_t>(e)];
      const auto p = static_cast<std::size_t>(event.play);
      const double off = event.programme_s - one.programme_s;
      if (std::abs(off) > 3.0 * sigma_s[p]) continue;
      const double n = static_cast<double>(one.events.size());
      squares[p] += off * off * n / (n - 1.0);
      count[p] += 1.0;
    }
  }
  for (std::size_t p = 0; p < sigma_s.size(); ++p)
    sigma_s[p] = std::sqrt((jitter_weight * sigma_s[p] * sigma_s[p] + squares[p]) /
                           (jitter_weight + count[p]));
}

}  // namespace

void take_strays(Coincidences& found) {
  double widest_s = 0.0;
  for (const double one : found.sigma_s) widest_s = std::max(widest_s, one);
  std::vector<char> taken(found.events.size(), 0);
  for (const Candidate& one : found.candidates)
    for (const int e : one.events) taken[static_cast<std::size_t>(e)] = 1;
  struct Stray {
    double off;  ///< in sigmas
    int event;
    std::size_t candidate;
  };
  std::vector<Stray> strays;
  for (std::size_t c = 0; c < found.candidates.size(); ++c) {
    const Candidate& one = found.candidates[c];
    for (auto at = std::ranges::lower_bound(
             found.events, one.programme_s - far_reach * widest_s, {}, &Event::programme_s);
         at != found.events.end() && at->programme_s <= one.programme_s + far_reach * widest_s;
         ++at) {
      const auto e = static_cast<std::size_t>(at - found.events.begin());
      const double off = std::abs(at->programme_s - one.programme_s) /
                         found.sigma_s[static_cast<std::size_t>(at->play)];
      if (taken[e] == 0 && off <= far_reach) strays.push_back({off, static_cast<int>(e), c});
    }
  }
  std::ranges::sort(strays, {}, [](const Stray& one) {
    return std::tuple{one.off, one.event, one.candidate};
  });
  for (const auto& [off, event, c] : strays) {
    auto& events = found.candidates[c].events;
    const int play = found.events[static_cast<std::size_t>(event)].play;
    if (taken[static_cast<std::size_t>(event)] != 0 || std::ranges::any_of(events, [&](int e) {
          return found.events[static_cast<std::size_t>(e)].play == play;
        }))
      continue;
    taken[static_cast<std::size_t>(event)] = 1;
    events.insert(std::ranges::lower_bound(events, event), event);
  }
}

Coincidences coincide(const FamilyIndex& index, std::span<const works::HeardPlay> plays) {
  auto events = events_of(index, plays);
  const Jitter jitter = learn_jitter(index, plays);
  std::vector<double> sigma_s;
  sigma_s.reserve(plays.size());
  for (const auto& play : plays) sigma_s.push_back(jitter.sigma_s(play.sigma_s));
  std::vector<char> left_out(events.size(), 0);
  FaultRate rate{index, plays, events, left_out};
  Marks marks{plays, events, left_out};
  for (int pass = 0; pass < 2; ++pass) {
    Scanner scanner{index, events, sigma_s, rate};
    const auto peaks = scanner.peaks();
    auto candidates = gathered(peaks, events, sigma_s, scanner.window_s());
    if (pass == 1)
      return {std::move(events),
              std::move(sigma_s),
              std::move(candidates),
              std::move(rate),
              marks,
              jitter};
    for (const Candidate& one : candidates)
      if (one.chance < plainly)
        for (const int e : one.events) left_out[static_cast<std::size_t>(e)] = 1;
    learn_plays(candidates, events, sigma_s);
    rate = FaultRate{index, plays, events, left_out};
    marks = Marks{plays, events, left_out};
    for (const Candidate& one : candidates)
      if (one.chance < plainly && one.events.size() >= 4) marks.take(plays, events, one.events);
  }
  return {std::move(events), std::move(sigma_s), {}, std::move(rate), marks, jitter};
}

}  // namespace goodside::trace
