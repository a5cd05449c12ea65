#include "listen/fault_places.hpp"

#include <algorithm>
#include <cmath>

namespace goodside::listen {
namespace {

constexpr double least_window_s = 1.5e-3;
constexpr double vague_onset_s = 10e-3;
constexpr double neighbourhood_s = 5.0;

struct Finding {
  double programme_s{};
  std::size_t play{}, fault{};
};

double sigma_s(const works::ListeningReport& play) {
  const double sigma = play.alignment ? play.alignment->programme_sigma_s : 0.0;
  return std::isfinite(sigma) ? sigma : 0.0;
}

double window_s(std::span<const works::ListeningReport> plays) {
  double square = 0.0;
  for (const auto& play : plays) square = std::max(square, sigma_s(play) * sigma_s(play));
  return 3.0 * std::sqrt(2.0 * square) + least_window_s;
}

double vagueness_s(const works::FaultEvent& fault) {
  return fault.duration_s > vague_onset_s ? 0.5 * fault.duration_s : 0.0;
}

bool hears(const works::ListeningReport& play, double programme_s) {
  return std::any_of(play.heard.begin(), play.heard.end(), [&](const auto& part) {
    return part.from_s <= programme_s && programme_s <= part.to_s;
  });
}

double heard_within_s(const works::ListeningReport& play, double from_s, double to_s) {
  double sum_s = 0.0;
  for (const auto& part : play.heard)
    sum_s += std::max(0.0, std::min(to_s, part.to_s) - std::max(from_s, part.from_s));
  return sum_s;
}

std::vector<Finding> findings_of(std::span<const works::ListeningReport> plays) {
  std::vector<Finding> all;
  for (std::size_t p = 0; p < plays.size(); ++p)
    for (std::size_t f = 0; f < plays[p].faults.size(); ++f) {
      const auto& fault = plays[p].faults[f];
      if (fault.programme_s && fault.audibility != works::Audibility::masked)
        all.push_back({*fault.programme_s, p, f});
    }
  std::ranges::stable_sort(all, {}, &Finding::programme_s);
  return all;
}

/// Adds a finding to the place unless its play is there already with one as loud.
void join(MatchedPlace& place, const Finding& finding, const works::ListeningReport& play) {
  auto& held = place.fault[finding.play];
  if (!held || play.faults[*held].peak_dB < play.faults[finding.fault].peak_dB)
    held = finding.fault;
  place.plays[finding.play] = works::Showing::found;
}

/// The times of each play's faults, for counting neighbours.
class Neighbours {
 public:
  explicit Neighbours(std::span<const works::ListeningReport> plays) : plays_{plays} {
    times_.resize(plays.size());
    for (const Finding& finding : findings_of(plays))
      times_[finding.play].push_back(finding.programme_s);
  }

  [[nodiscard]] double coincidence(std::size_t play,
                                   double programme_s,
                                   double half_window_s,
                                   bool own) const {
    const double from_s = programme_s - neighbourhood_s, to_s = programme_s + neighbourhood_s;
    const double heard_s = heard_within_s(plays_[play], from_s, to_s);
    if (heard_s <= 0.0) return 0.0;
    const auto& times = times_[play];
    const auto first = std::lower_bound(times.begin(), times.end(), from_s);
    const auto last = std::upper_bound(first, times.end(), to_s);
    const double others = std::max(0.0, static_cast<double>(last - first) - (own ? 1.0 : 0.0));
    return -std::expm1(-2.0 * half_window_s * others / heard_s);
  }

 private:
  std::span<const works::ListeningReport> plays_;
  std::vector<std::vector<double>> times_;
};

std::optional<double> jitter_s(const std::vector<MatchedPlace>& places,
                               std::span<const works::ListeningReport> plays) {
  double squares = 0.0;
  int freedom = 0;
  for (const auto& place : places) {
    std::vector<double> times;
    for (std::size_t p = 0; p < plays.size(); ++p)
      if (place.fault[p] && vagueness_s(plays[p].faults[*place.fault[p]]) == 0.0)
        times.push_back(*plays[p].faults[*place.fault[p]].programme_s);
    if (times.size() < 2) continue;
    double mean = 0.0;
    for (const double time : times) mean += time / static_cast<double>(times.size());
    for (const double time : times) squares += (time - mean) * (time - mean);
    freedom += static_cast<int>(times.size()) - 1;
  }
  if (freedom == 0) return {};
  return std::sqrt(squares / freedom);
}

}  // namespace

Matched match_places(std::span<const works::ListeningReport> plays) {
  Matched matched;
  matched.window_s = window_s(plays);
  struct Open {
    double programme_s, reach_s;
    std::size_t place;
  };
  std::vector<Open> open;  // places whose window a later finding may still fall into
  for (const Finding& finding : findings_of(plays)) {
    const double vague_s = vagueness_s(plays[finding.play].faults[finding.fault]);
    std::erase_if(open, [&](const Open& place) {
      return finding.programme_s - place.programme_s > matched.window_s + place.reach_s;
    });
    const Open* nearest = nullptr;
    for (const Open& place : open)  // in order of time: the last that fits is the nearest
      if (finding.programme_s - place.programme_s <=
          matched.window_s + std::max(place.reach_s, vague_s))
        nearest = &place;
    if (nearest == nullptr) {
      open.push_back({finding.programme_s, vague_s, matched.places.size()});
      matched.places.push_back({std::vector<works::Showing>(plays.size(), works::Showing::missed),
                                std::vector<std::optional<std::size_t>>(plays.size()),
                                std::vector<double>(plays.size(), 0.0)});
      nearest = &open.back();
    }
    join(matched.places[nearest->place], finding, plays[finding.play]);
  }

  const Neighbours neighbours{plays};
  for (auto& place : matched.places) {
    double at_s = 0.0, reach_s = 0.0;
    for (std::size_t p = 0; p < plays.size(); ++p)
      if (place.fault[p]) {
        at_s = *plays[p].faults[*place.fault[p]].programme_s;
        reach_s = std::max(reach_s, vagueness_s(plays[p].faults[*place.fault[p]]));
      }
    for (std::size_t p = 0; p < plays.size(); ++p) {
      const bool found = place.plays[p] == works::Showing::found;
      if (!found && !hears(plays[p], at_s)) place.plays[p] = works::Showing::not_heard;
      place.coincidence[p] = neighbours.coincidence(p, at_s, matched.window_s + reach_s, found);
    }
  }
  matched.jitter_s = jitter_s(matched.places, plays);
  return matched;
}

}  // namespace goodside::listen
