#include "stats/discrete.hpp"

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::stats {
namespace {

namespace bm = boost::math;

double log_choose(double n, double k) {
  return std::lgamma(n + 1.0) - std::lgamma(k + 1.0) - std::lgamma(n - k + 1.0);
}

/// log of the chance of exactly x marked ones.
double log_term(const Draw& draw, double x) {
  const auto n = static_cast<double>(draw.lot), m = static_cast<double>(draw.marked);
  const auto d = static_cast<double>(draw.drawn);
  return log_choose(m, x) + log_choose(n - m, d - x) - log_choose(n, d);
}

/// P(at least `wanted` good of `trials`): binomial, or with the chance integrated over its beta
/// posterior.
double enough(const TrialsWanted& asked, std::int64_t trials) {
  if (trials < asked.wanted) return 0.0;
  if (asked.seen_good + asked.seen_bad == 0)
    return 1.0 - binomial_cdf(asked.wanted - 1, trials, asked.chance);
  // Terms of the beta-binomial from all good downwards, each from the last by its ratio.
  const double a = static_cast<double>(asked.seen_good) + 0.5;
  const double b = static_cast<double>(asked.seen_bad) + 0.5;
  const auto n = static_cast<double>(trials);
  double term = std::lgamma(n + a) - std::lgamma(a) - std::lgamma(n + a + b) + std::lgamma(a + b);
  double sum = 0.0;
  for (std::int64_t bad = 0; bad <= trials - asked.wanted; ++bad) {
    sum += std::exp(term);
    const auto k = static_cast<double>(bad);
    term += std::log((n - k) * (b + k) / ((k + 1.0) * (n - k - 1.0 + a)));
  }
  return std::min(sum, 1.0);
}

}  // namespace

double binomial_cdf(std::int64_t count, std::int64_t trials, double chance) {
  EXPECTS(trials >= 0 && chance >= 0.0 && chance <= 1.0);
  if (count < 0) return 0.0;
  if (count >= trials) return 1.0;
  return bm::cdf(bm::binomial{static_cast<double>(trials), chance}, static_cast<double>(count));
}

double hypergeometric_cdf(std::int64_t count, const Draw& draw) {
  EXPECTS(draw.lot >= 0 && draw.marked >= 0 && draw.marked <= draw.lot && draw.drawn >= 0 &&
          draw.drawn <= draw.lot);
  const std::int64_t least = std::max<std::int64_t>(0, draw.drawn + draw.marked - draw.lot);
  const std::int64_t most = std::min(draw.drawn, draw.marked);
  if (count < least) return 0.0;
  if (count >= most) return 1.0;
  const auto n = static_cast<double>(draw.lot), m = static_cast<double>(draw.marked);
  const auto d = static_cast<double>(draw.drawn);
  const bool lower = static_cast<double>(count) * n < d * m;
  double sum = 0.0;
  if (lower) {
    auto x = static_cast<double>(count);
    double term = std::exp(log_term(draw, x));
    for (std::int64_t k = count; k >= least && term > sum * 1e-18; --k, x -= 1.0) {
      sum += term;
      term *= x * (n - m - d + x) / ((m - x + 1.0) * (d - x + 1.0));
    }
    return std::min(sum, 1.0);
  }
  auto x = static_cast<double>(count + 1);
  double term = std::exp(log_term(draw, x));
  for (std::int64_t k = count + 1; k <= most && term > sum * 1e-18; ++k, x += 1.0) {
    sum += term;
    term *= (m - x) * (d - x) / ((x + 1.0) * (n - m - d + x + 1.0));
  }
  return std::max(1.0 - sum, 0.0);
}

double gamma_cdf(double value, double shape) {
  EXPECTS(shape > 0.0);
  return value <= 0.0 ? 0.0 : bm::gamma_p(shape, value);
}

std::int64_t trials_for(const TrialsWanted& asked) {
  EXPECTS(asked.wanted >= 0 && asked.chance > 0.0 && asked.chance <= 1.0);
  EXPECTS(asked.confidence > 0.0 && asked.confidence < 1.0);
  EXPECTS(asked.seen_good >= 0 && asked.seen_bad >= 0);
  std::int64_t low = asked.wanted, step = 1 + asked.wanted / 8;
  if (enough(asked, low) >= asked.confidence) return low;
  while (enough(asked, low + step) < asked.confidence) {
    low += step;
    step *= 2;
  }
  std::int64_t high = low + step;
  while (high - low > 1) {
    const std::int64_t middle = low + (high - low) / 2;
    (enough(asked, middle) >= asked.confidence ? high : low) = middle;
  }
  return high;
}

}  // namespace goodside::stats
