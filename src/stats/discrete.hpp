#pragma once
#include <cstdint>

namespace goodside::stats {

/// P(X <= count) for X ~ binomial(trials, chance). trials >= 0, 0 <= chance <= 1; 0 below count 0.
[[nodiscard]] double binomial_cdf(std::int64_t count, std::int64_t trials, double chance);

/// A draw of `drawn` from a lot of `lot` in which `marked` are marked.
struct Draw {
  std::int64_t lot{}, marked{}, drawn{};
};
/// P(X <= count) for the number X of marked ones drawn without replacement (hypergeometric).
/// 0 <= marked, drawn <= lot. The terms are summed from the smaller tail, so that small chances keep
/// their relative accuracy (1e-12, measured against SciPy to lots of 100,000).
[[nodiscard]] double hypergeometric_cdf(std::int64_t count, const Draw&);

/// P(X <= value) for X ~ gamma of this shape and scale 1. shape > 0; 0 below value 0.
[[nodiscard]] double gamma_cdf(double value, double shape);

/// The least number of trials after which `wanted` successes are there with `confidence`, each trial
/// one with `chance`: the quantile of the negative binomial. wanted >= 0, 0 < chance <= 1, 0 <
/// confidence < 1. With `seen_good` and `seen_bad` not both nought the chance is learned from so many
/// trials instead (Jeffreys' prior, beta-binomial), and `chance` is not used.
struct TrialsWanted {
  std::int64_t wanted{};
  double chance{1.0};
  double confidence{0.95};
  std::int64_t seen_good{}, seen_bad{};
};
[[nodiscard]] std::int64_t trials_for(const TrialsWanted&);

}  // namespace goodside::stats
