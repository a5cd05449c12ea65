#include "trace/fault_rate.hpp"

#include <algorithm>
#include <cmath>

namespace goodside::trace {
namespace {

constexpr double disc_prior = 4.0, bin_prior = 2.0, faults_a_bin = 40.0;
constexpr std::size_t most_bins = 600;
constexpr double least_faults = 0.5;  ///< on all discs together, so that no rate is nought

}  // namespace

std::size_t FaultRate::bin(double programme_s) const {
  const double at = programme_s / bin_s_;
  if (!(at > 0.0)) return 0;
  return std::min(local_.size() - 1, static_cast<std::size_t>(at));
}

FaultRate::FaultRate(const FamilyIndex& index,
                     std::span<const works::HeardPlay> plays,
                     std::span<const Event> events,
                     std::span<const char> left_out)
    : length_s_{index.length_s} {
  double kept = 0.0;
  for (const char out : left_out) kept += out == 0 ? 1.0 : 0.0;
  const auto bins = static_cast<std::size_t>(
      std::clamp(kept / faults_a_bin, 1.0, static_cast<double>(most_bins)));
  bin_s_ = length_s_ / static_cast<double>(bins);
  local_.assign(bins, 0.0);
  std::vector<double> seconds(bins, 0.0), heard_s(index.heard.size(), 0.0);
  for (std::size_t h = 0; h < index.heard.size(); ++h)
    for (const int p : index.heard[h].plays) {
      const auto& play = plays[static_cast<std::size_t>(p)];
      const std::vector<works::Interval_s> whole{{0.0, length_s_}};
      for (const auto& part : play.heard.empty() ? whole : play.heard) {
        const double from = std::clamp(part.from_s, 0.0, length_s_);
        const double to = std::clamp(part.to_s, from, length_s_);
        heard_s[h] += to - from;
        for (std::size_t b = bin(from); b <= bin(to); ++b)
          seconds[b] += std::max(0.0,
                                 std::min(to, static_cast<double>(b + 1) * bin_s_) -
                                     std::max(from, static_cast<double>(b) * bin_s_));
      }
    }
  double all_s = 0.0;
  for (const double s : heard_s) all_s += s;
  const double mean = (kept + least_faults) / std::max(all_s, 1.0);

  std::vector<double> of_disc(index.heard.size(), 0.0);
  for (std::size_t e = 0; e < events.size(); ++e) {
    if (left_out[e] != 0) continue;
    of_disc[static_cast<std::size_t>(events[e].heard)] += 1.0;
    local_[bin(events[e].programme_s)] += 1.0;
  }
  for (std::size_t b = 0; b < bins; ++b)
    local_[b] = mean * (local_[b] + bin_prior) / (seconds[b] * mean + bin_prior);
  disc_.resize(index.heard.size());
  for (std::size_t h = 0; h < disc_.size(); ++h)
    disc_[h] = (of_disc[h] + disc_prior) / (heard_s[h] * mean + disc_prior);
}

double FaultRate::local(double programme_s) const {
  return local_[bin(programme_s)];
}

double FaultRate::per_s(int heard, double programme_s) const {
  return disc(heard) * local(programme_s);
}

}  // namespace goodside::trace
