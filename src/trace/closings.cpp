#include "trace/closings.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/expects.hpp"
#include "stats/interval.hpp"
#include "stats/line_fit.hpp"

namespace goodside::trace {

std::int64_t own_closings(std::span<const works::Impressions> mounted, std::int64_t impression) {
  std::int64_t sum = 0;
  for (const auto& range : mounted)
    if (impression >= range.first) sum += std::min(impression, range.last) - range.first + 1;
  return sum;
}

works::StamperLife life_of(const StamperHistory& history) {
  works::StamperLife life = history.known;
  std::int64_t last = 0;
  for (const auto& range : history.mounted) last = std::max(last, range.last);
  const auto age = [&](std::int64_t impression) {
    return static_cast<double>(own_closings(history.mounted, impression));
  };
  life.ended_by_closings.reset();
  if (history.onset) {
    life.good_to_closings = age(history.onset->first - 1);
    // An onset between two mountings shows with the first closing after it at the latest.
    life.ended_by_closings = std::max(age(history.onset->last), life.good_to_closings + 1.0);
  } else {
    life.good_to_closings = age(last);
    life.cause.reset();
  }
  return life;
}

std::optional<AgeReached> worn_age(std::span<const NoiseAtAge> readings,
                                   double limit_dB,
                                   double confidence) {
  EXPECTS(readings.size() >= 3);
  std::vector<double> age, noise;
  for (const auto& one : readings) {
    age.push_back(one.closings);
    noise.push_back(one.noise_dB);
  }
  const auto line = stats::fit_line(age, noise);
  const auto count = static_cast<double>(age.size());
  const double mean = std::accumulate(age.begin(), age.end(), 0.0) / count;
  double spread = 0.0;
  for (const double one : age) spread += (one - mean) * (one - mean);
  const double t = stats::student_t_quantile(0.5 + 0.5 * confidence, count - 2.0);
  // (at_mean + slope x)^2 = c (1/n + x^2 / Sxx) with x = age - mean.
  const double at_mean = line.intercept + line.slope * mean - limit_dB;
  const double c = t * t * line.residual_deviation * line.residual_deviation;
  const double square = line.slope * line.slope - c / spread;
  if (!(line.slope > 0.0) || !(square > 0.0)) return std::nullopt;
  const double half = line.slope * at_mean;
  const double root =
      std::sqrt(std::max(0.0, half * half - square * (at_mean * at_mean - c / count)));
  const double low = mean + (-half - root) / square, high = mean + (-half + root) / square;
  const double last = std::ranges::max(age);
  AgeReached reached{.above = std::clamp(low, 0.0, last)};
  if (high <= last) reached.to = std::max(high, reached.above + 1.0);
  return reached;
}

}  // namespace goodside::trace
