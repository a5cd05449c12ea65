#pragma once
#include <cstdint>
#include <functional>
#include <vector>

#include "base/result.hpp"

namespace goodside::plan {

/// A stretch of a run on one pair of stampers, to be watched for damage: from its onset every disc is
/// flawed. Impressions count from 1 in the stretch; disc 0 is the last one known to be good.
struct WatchedRun {
  std::int64_t impressions{};
  /// Share of pairs that are still good after so many closings of the stretch: 1 at 0, falling.
  std::function<double(double)> still_good{};
  std::int64_t behind{};      ///< discs pressed from the pull of a sample to its verdict
  std::int64_t least_gap{1};  ///< discs between two samples: a listener hears one at a time
  std::int64_t
      most_flawed{};      ///< flawed discs made before the verdict, never more; 0: no such bound
  double hearing_cost{};  ///< of one sample, both sides where both are watched
  double disc_cost{};     ///< of one flawed disc, in the same money
  double search_cost{};   ///< of one further hearing while the onset is halved down to a disc
};

/// Where to take samples, and what it costs up to the first damage or the end of the stretch.
struct HearingPlaces {
  std::vector<std::int64_t> at{};  ///< impressions; the last one is the stretch's last disc
  double damage_chance{};          ///< in the stretch
  double heard_mean{};             ///< samples, until damage is found or the stretch ends
  double flawed_mean{};            ///< flawed discs pressed, damage or not
  double flawed_if_damaged{};      ///< the same where there is damage
  double cost{};                   ///< mean, of samples, flawed discs and search
};

/// The samples of least mean cost, by dynamic programming over all places: with S the share still
/// good, k discs behind, N the last disc,
///   g(x) = min over y of  S(x) h + sum over t in (x, y] of P(onset t) [c (min(y + k, N) - t + 1) +
///          s log2(y - x)] + g(y).
/// Stretches beyond 3,000 impressions are laid on a lattice of as many places. Cost: the square of
/// the places. What follows a change of stamper is a stretch of its own. Source: inspection policies,
/// R. E. Barlow, F. Proschan, Mathematical Theory of Reliability, Wiley 1965, chapter 4 (from
/// memory), here with discs made before a verdict.
/// Errors: Fault::out_of_range for figures that cannot be, or a bound of `most_flawed` that no
/// listener can keep (what it takes is named).
Result<HearingPlaces> hearing_places(const WatchedRun&);

/// What given samples cost; `at` rising, its last the last disc.
[[nodiscard]] HearingPlaces cost_of_places(const WatchedRun&, std::vector<std::int64_t> at);

/// As many samples, even over the stretch.
[[nodiscard]] HearingPlaces even_places(const WatchedRun&, std::size_t samples);

}  // namespace goodside::plan
