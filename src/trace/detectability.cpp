#include "trace/detectability.hpp"

#include <algorithm>
#include <cmath>

namespace goodside::trace {
namespace {

constexpr std::array<double, 5> heights{-0.5, 0.2, 0.9, 1.6, 2.5}, slopes{0.0, 2.0, 4.0, 6.0, 10.0};
constexpr std::array<double, 2> scatters{0.35, 0.9};
static_assert(heights.size() * slopes.size() * scatters.size() == law_count);

double logit(double p) {
  return std::log(p / (1.0 - p));
}

ByDetection detection_under(const HearingLaw& law, double above_dB) {
  // Beyond the last of the probabilities a steeper law would say no more than the last.
  const double centre = std::clamp(law.at_5_dB + law.per_10_dB * (above_dB - 5.0) / 10.0,
                                   logit(detections.front()),
                                   logit(detections.back()));
  ByDetection weight{};
  double sum = 0.0;
  for (std::size_t p = 0; p < detection_count; ++p) {
    const double low = logit(detections[p > 0 ? p - 1 : p]);
    const double high = logit(detections[p + 1 < detection_count ? p + 1 : p]);
    const double u = (logit(detections[p]) - centre) / law.scatter;
    weight[p] = std::max(1e-9, std::exp(-0.5 * u * u)) * (high - low);
    sum += weight[p];
  }
  for (double& one : weight) one /= sum;
  return weight;
}

}  // namespace

HearingLaw hearing_law(std::size_t law) {
  return {heights[law % heights.size()],
          slopes[law / heights.size() % slopes.size()],
          scatters[law / (heights.size() * slopes.size())]};
}

ByDetection detection_prior(const ByLaw& log_weight, double above_dB) {
  const double most = *std::ranges::max_element(log_weight);
  ByDetection prior{};
  double all = 0.0;
  for (std::size_t law = 0; law < law_count; ++law) {
    const double weight = std::exp(log_weight[law] - most);
    const ByDetection under = detection_under(hearing_law(law), above_dB);
    for (std::size_t p = 0; p < detection_count; ++p) prior[p] += weight * under[p];
    all += weight;
  }
  for (double& one : prior) one /= all;
  return prior;
}

ByLaw likelihood_of_laws(const ByDetection& log_likelihood, double above_dB) {
  const double most = *std::ranges::max_element(log_likelihood);
  ByLaw result{};
  for (std::size_t law = 0; law < law_count; ++law) {
    const ByDetection under = detection_under(hearing_law(law), above_dB);
    double sum = 0.0;
    for (std::size_t p = 0; p < detection_count; ++p)
      sum += under[p] * std::exp(log_likelihood[p] - most);
    result[law] = std::log(sum);
  }
  return result;
}

}  // namespace goodside::trace
