#include "trace/jitter.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace goodside::trace {
namespace {

constexpr double widest_s = 0.06;       ///< pairs further apart tell nothing of jitter
constexpr double least_sigma_s = 2e-6;  ///< the last digits of a report
constexpr double untold_sigma_s = 2e-4;
constexpr std::size_t most_pairs_of_plays = 3000, most_distances = 20000;

double said(const works::HeardPlay& play) {
  return play.sigma_s > 0.0 ? play.sigma_s : untold_sigma_s;
}

struct Distance {
  double s, variance;  ///< of both reports, as they say
};

void compare(const works::HeardPlay& a, const works::HeardPlay& b, std::vector<Distance>& out) {
  const double variance = said(a) * said(a) + said(b) * said(b);
  std::size_t j = 0;
  for (const auto& fault : a.faults) {
    while (j + 1 < b.faults.size() && std::abs(b.faults[j + 1].programme_s - fault.programme_s) <=
                                          std::abs(b.faults[j].programme_s - fault.programme_s))
      ++j;
    if (b.faults.empty()) return;
    const double apart = std::abs(b.faults[j].programme_s - fault.programme_s);
    if (apart < widest_s) out.push_back({apart, variance});
  }
}

std::vector<Distance> distances(const FamilyIndex& index, std::span<const works::HeardPlay> plays) {
  std::vector<Distance> all;
  const std::size_t n = index.heard.size();
  std::size_t compared = 0;
  // Neighbours first: discs of one stamper share the most. Steps of a few lengths mix the rest in.
  for (const std::size_t step : {1U, 2U, 3U, 5U, 8U, 13U, 21U, 34U, 55U, 89U})
    for (std::size_t h = 0; h + step < n; ++h) {
      if (++compared > most_pairs_of_plays || all.size() > most_distances) return all;
      if (!index.heard[h].plays.empty() && !index.heard[h + step].plays.empty())
        compare(plays[static_cast<std::size_t>(index.heard[h].plays.front())],
                plays[static_cast<std::size_t>(index.heard[h + step].plays.front())],
                all);
    }
  return all;
}

/// Log-likelihood with the best share of strangers, which is found by a few steps of EM.
double fit(std::span<const Distance> all, double factor, double added_s, double& strangers) {
  double share = 0.5, log_likelihood = 0.0;
  const double flat = 1.0 / widest_s;
  for (int turn = 0; turn < 12; ++turn) {
    double kin = 0.0;
    log_likelihood = 0.0;
    for (const Distance& one : all) {
      const double variance = factor * factor * one.variance + 2.0 * added_s * added_s;
      const double normal = std::sqrt(2.0 / (std::numbers::pi * variance)) *
                            std::exp(-0.5 * one.s * one.s / variance);
      const double real = (1.0 - share) * normal, whole = real + share * flat;
      kin += real / whole;
      log_likelihood += std::log(whole);
    }
    share = std::clamp(1.0 - kin / static_cast<double>(all.size()), 1e-3, 1.0 - 1e-3);
  }
  strangers = share;
  return log_likelihood;
}

}  // namespace

double Jitter::sigma_s(double said_s) const {
  const double told = said_s > 0.0 ? said_s : untold_sigma_s;
  return std::max(least_sigma_s, std::hypot(factor * told, added_s));
}

Jitter learn_jitter(const FamilyIndex& index, std::span<const works::HeardPlay> plays) {
  Jitter best;
  const auto all = distances(index, plays);
  best.pairs = static_cast<int>(all.size());
  if (all.empty()) return best;
  // A prior that the reports know themselves: a factor e off, or a millisecond added, costs 2.
  double highest = -1e300;
  for (const double factor : {0.1, 0.2, 0.35, 0.6, 0.8, 1.0, 1.25, 1.6, 2.5, 4.0})
    for (const double added_s : {0.0, 2e-5, 5e-5, 1e-4, 2e-4, 4e-4, 8e-4, 1.6e-3, 3.2e-3, 6.4e-3}) {
      double strangers = 1.0;
      const double value = fit(all, factor, added_s, strangers) - 2.0 * std::abs(std::log(factor)) -
                           0.5 * std::log1p(added_s / 1e-4);
      if (value > highest) {
        highest = value;
        best = {factor, added_s, strangers, best.pairs};
      }
    }
  return best;
}

}  // namespace goodside::trace
