#include "stats/interval.hpp"

#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

#include "base/expects.hpp"

namespace goodside::stats {

namespace bm = boost::math;

Interval proportion_interval(int successes, int trials, double confidence) {
  EXPECTS(trials > 0 && successes >= 0 && successes <= trials);
  EXPECTS(confidence > 0.0 && confidence < 1.0);
  const double tail = 0.5 * (1.0 - confidence);
  return {successes == 0 ? 0.0 : bm::binomial::find_lower_bound_on_p(trials, successes, tail),
          successes == trials ? 1.0 : bm::binomial::find_upper_bound_on_p(trials, successes, tail)};
}

Interval deviation_interval(double deviation, double degrees_of_freedom, double confidence) {
  EXPECTS(deviation >= 0.0 && degrees_of_freedom > 0.0);
  EXPECTS(confidence > 0.0 && confidence < 1.0);
  const bm::chi_squared spread{degrees_of_freedom};
  const double tail = 0.5 * (1.0 - confidence);
  return {deviation * std::sqrt(degrees_of_freedom / bm::quantile(bm::complement(spread, tail))),
          deviation * std::sqrt(degrees_of_freedom / bm::quantile(spread, tail))};
}

double student_t_quantile(double probability, double degrees_of_freedom) {
  EXPECTS(probability > 0.0 && probability < 1.0 && degrees_of_freedom > 0.0);
  return bm::quantile(bm::students_t{degrees_of_freedom}, probability);
}

double student_t_below(double value, double degrees_of_freedom) {
  EXPECTS(degrees_of_freedom > 0.0);
  return bm::cdf(bm::students_t{degrees_of_freedom}, value);
}

double normal_below(double value) {
  return bm::cdf(bm::normal{}, value);
}

double normal_quantile(double probability) {
  EXPECTS(probability > 0.0 && probability < 1.0);
  return bm::quantile(bm::normal{}, probability);
}

double chi_squared_tail(double value, double degrees_of_freedom) {
  EXPECTS(value >= 0.0 && degrees_of_freedom > 0.0);
  return bm::cdf(bm::complement(bm::chi_squared{degrees_of_freedom}, value));
}

double chi_squared_quantile(double probability, double degrees_of_freedom) {
  EXPECTS(probability > 0.0 && probability < 1.0 && degrees_of_freedom > 0.0);
  return bm::quantile(bm::chi_squared{degrees_of_freedom}, probability);
}

}  // namespace goodside::stats
