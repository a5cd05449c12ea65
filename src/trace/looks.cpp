#include "trace/looks.hpp"

#include <algorithm>
#include <cmath>

#include "trace/normal.hpp"
#include "trace/unit_likelihood.hpp"

namespace goodside::trace {
namespace {

constexpr double tail_share = 0.07;  ///< of times that are three times as far off
constexpr double own_share = 0.5;    ///< of stray faults that are pressed in, not dust
constexpr double again = 0.85;       ///< that a stray fault is found in another play
constexpr double left_by_brush = 0.4, left_by_wash = 0.15;  ///< of dust

double place_density(double off, double sigma) {
  return (1.0 - tail_share) * normal(off, sigma) + tail_share * normal(off, 3.0 * sigma);
}

/// How much of the dust that lay there is left when a play begins.
double dust_left(works::After after) {
  if (after == works::After::brushed) return left_by_brush;
  return after == works::After::washed ? left_by_wash : 1.0;
}

/// log of the density of a disc's finds where it has no part in the fault: its own pressed-in
/// fault, a grain of dust, or a stranger in each play.
double stray(std::span<const Look> looks, double rate_per_s) {
  const auto first =
      std::ranges::find_if(looks, [](const Look& one) { return one.event != nullptr; });
  if (first == looks.end()) return 0.0;
  double own = own_share, dust = 1.0 - own_share, strangers = 1.0, left = 1.0;
  bool several = false;
  for (auto look = looks.begin(); look != looks.end(); ++look) {
    if (look < first) own *= 1.0 - again;
    if (look <= first) continue;
    left *= dust_left(look->after);
    if (look->event == nullptr) {
      own *= 1.0 - again;
      dust *= 1.0 - again * left;
      continue;
    }
    const double together = normal(look->event->programme_s - first->event->programme_s,
                                   std::hypot(look->sigma_s, first->sigma_s));
    own *= again * together;
    dust *= again * left * together;
    strangers *= rate_per_s;
    several = true;
  }
  return std::log(rate_per_s) + std::log(own + dust + (several ? strangers : 0.0));
}

}  // namespace

bool heard_at(const works::HeardPlay& play, double programme_s) {
  return play.heard.empty() || std::ranges::any_of(play.heard, [&](const auto& part) {
           return programme_s >= part.from_s && programme_s <= part.to_s;
         });
}

/// A find that a later cleaned play does not show was dust, whatever the odds.
bool stands(std::span<const Look> looks) {
  bool found = false;
  for (const Look& look : looks) {
    const bool cleaned = look.after == works::After::brushed || look.after == works::After::washed;
    if (look.event != nullptr)
      found = true;
    else if (cleaned)
      found = false;
  }
  return found;
}

ByDetection disc_ratio(std::span<const Look> looks, double programme_s, double rate_per_s) {
  const double alone = stray(looks, rate_per_s);
  ByDetection ratio{};
  for (std::size_t p = 0; p < detection_count; ++p) {
    double log_touched = 0.0;
    for (const Look& look : looks)
      log_touched +=
          look.event == nullptr
              ? std::log(1.0 - detections[p])
              : std::log(detections[p] * std::exp(look.alike) *
                             place_density(look.event->programme_s - programme_s, look.sigma_s) +
                         (1.0 - detections[p]) * rate_per_s);
    ratio[p] = touched_with(1.0 - mistaken, log_touched - alone);
  }
  return ratio;
}

std::vector<Look> looks_at(const HeardDisc& heard,
                           std::span<const works::HeardPlay> plays,
                           const Coincidences& all,
                           double programme_s,
                           std::span<const int> events) {
  std::vector<Look> looks;
  for (const int p : heard.plays) {
    const auto& play = plays[static_cast<std::size_t>(p)];
    const Event* found = nullptr;
    for (const int e : events)
      if (all.events[static_cast<std::size_t>(e)].play == p)
        found = &all.events[static_cast<std::size_t>(e)];
    if (found == nullptr && !heard_at(play, programme_s)) continue;
    looks.push_back({found, all.sigma_s[static_cast<std::size_t>(p)], play.after, 0.0});
  }
  return looks;
}

}  // namespace goodside::trace
