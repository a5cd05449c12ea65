#include <algorithm>
#include <cmath>
#include <numbers>
#include <unordered_map>
#include <utility>

#include "trace/attribute_parts.hpp"
#include "trace/looks.hpp"
#include "trace/normal.hpp"

namespace goodside::trace {
namespace {

constexpr double spoken_of = 0.3;  ///< that what was said is of this fault, where there is one
constexpr double usual_above_dB = 5.0;

}  // namespace

Attributor::Evidence Attributor::evidence_of(const Candidate& candidate) const {
  Evidence evidence{.programme_s = candidate.programme_s};
  std::vector<std::pair<int, int>> by_disc;  // heard disc, event
  double weight = 0.0;
  for (const int e : candidate.events) {
    const Event& event = found_.events[static_cast<std::size_t>(e)];
    by_disc.emplace_back(event.heard, e);
    const double sigma = found_.sigma_s[static_cast<std::size_t>(event.play)];
    constexpr double tells = 4.0;  // sigmas; what strays further says nothing of where the place is
    if (std::abs(event.programme_s - candidate.programme_s) <= tells * sigma)
      weight += 1.0 / (sigma * sigma);
  }
  evidence.above_dB =
      found_.marks.above_floor_dB(plays_, found_.events, candidate.events).value_or(usual_above_dB);
  evidence.log_place = 0.5 * std::log(2.0 * std::numbers::pi / weight) - std::log(index_.length_s);
  const auto gains = found_.marks.gains(plays_, found_.events, candidate.events);
  std::unordered_map<int, double> alike;
  for (std::size_t i = 0; i < gains.size(); ++i) alike[candidate.events[i]] = gains[i];
  std::sort(by_disc.begin(), by_disc.end());
  for (std::size_t i = 0; i < by_disc.size();) {
    std::vector<int> events;
    std::size_t j = i;
    for (; j < by_disc.size() && by_disc[j].first == by_disc[i].first; ++j)
      events.push_back(by_disc[j].second);
    const int heard = by_disc[i].first;
    auto looks = looks_at(index_.heard[static_cast<std::size_t>(heard)],
                          plays_,
                          found_,
                          candidate.programme_s,
                          events);
    // Further plays of a disc would sound alike whatever it is.
    for (Look& look : looks)
      if (look.event != nullptr) {
        look.alike = alike[events.front()];
        break;
      }
    evidence.discs.push_back(heard);
    evidence.ratio.push_back(
        disc_ratio(looks, candidate.programme_s, found_.rate.per_s(heard, candidate.programme_s)));
    evidence.found.push_back(stands(looks) ? Standing::stands : Standing::was_dust);
    i = j;
  }
  say(candidate, evidence);
  return evidence;
}

/// A remark makes what it speaks of likelier by how much narrower its window is than the side.
void Attributor::say(const Candidate& candidate, Evidence& evidence) const {
  for (const Said& one : said_) {
    double gain = 0.0;
    if (one.programme_s >= 0.0) {
      const double off = (candidate.programme_s - one.programme_s) / one.within_s;
      gain = index_.length_s * normal(off, 0.6) / one.within_s;
    } else {
      const Event& event = found_.events[static_cast<std::size_t>(candidate.events.front())];
      const auto& fault = plays_[static_cast<std::size_t>(event.play)]
                              .faults[static_cast<std::size_t>(event.fault)];
      const double turned =
          std::remainder(static_cast<double>(fault.angle_deg) - one.angle_deg, 360.0);
      const double off = static_cast<double>(fault.radius_m) - one.radius_m;
      constexpr double angle_sigma_deg = 8.0, radius_sigma_m = 1e-3, band_m = 0.085;
      if (std::isfinite(turned) && std::isfinite(off))
        gain = 360.0 * band_m * normal(turned, angle_sigma_deg) * normal(off, radius_sigma_m);
    }
    const double bonus = std::log1p(one.reliability * spoken_of * gain);
    if (bonus < 1e-3) continue;
    const int at = evidence.find(one.heard);
    if (at >= 0) {
      for (double& ratio : evidence.ratio[static_cast<std::size_t>(at)]) ratio += bonus;
      continue;
    }
    const auto place = std::lower_bound(evidence.discs.begin(), evidence.discs.end(), one.heard) -
                       evidence.discs.begin();
    const auto looks = looks_at(index_.heard[static_cast<std::size_t>(one.heard)],
                                plays_,
                                found_,
                                candidate.programme_s,
                                {});
    ByDetection ratio{};
    for (std::size_t p = 0; p < detection_count; ++p)
      ratio[p] = bonus + static_cast<double>(looks.size()) * missed_[p];
    evidence.discs.insert(evidence.discs.begin() + place, one.heard);
    evidence.ratio.insert(evidence.ratio.begin() + place, ratio);
    evidence.found.insert(evidence.found.begin() + place, Standing::said);
  }
}

bool Attributor::ratio_of(const Evidence& evidence, int heard, ByDetection& ratio) const {
  if (const int at = evidence.find(heard); at >= 0) {
    ratio = evidence.ratio[static_cast<std::size_t>(at)];
    return true;
  }
  const auto& disc = index_.heard[static_cast<std::size_t>(heard)];
  double looks = disc.whole ? static_cast<double>(disc.plays.size()) : 0.0;
  if (!disc.whole)
    for (const int p : disc.plays)
      looks += heard_at(plays_[static_cast<std::size_t>(p)], evidence.programme_s) ? 1.0 : 0.0;
  for (std::size_t p = 0; p < detection_count; ++p) ratio[p] = looks * missed_[p];
  return looks > 0.0;
}

ByDetection Attributor::not_found(int heard) const {
  ByDetection ratio = missed_;
  for (double& one : ratio)
    one *= static_cast<double>(index_.heard[static_cast<std::size_t>(heard)].plays.size());
  return ratio;
}

}  // namespace goodside::trace
