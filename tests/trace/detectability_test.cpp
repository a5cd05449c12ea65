#include "trace/detectability.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>
#include <random>

namespace goodside::trace {
namespace {

double mean(const ByDetection& weight) {
  double sum = 0.0;
  for (std::size_t p = 0; p < detection_count; ++p) sum += weight[p] * detections[p];
  return sum;
}

/// Log-likelihood of `shown` of `heard` plays for each detection probability.
ByDetection binomial(int shown, int heard) {
  ByDetection all{};
  for (std::size_t p = 0; p < detection_count; ++p)
    all[p] = shown * std::log(detections[p]) + (heard - shown) * std::log(1.0 - detections[p]);
  return all;
}

/// Laws as a title teaches them whose plays show a fault with `detection(above_dB)`.
template <class Detection>
ByLaw taught(int faults, const Detection& detection) {
  std::mt19937_64 random{5};
  std::uniform_real_distribution<double> above{1.0, 14.0}, even{0.0, 1.0};
  ByLaw laws{};
  for (int f = 0; f < faults; ++f) {
    const double dB = above(random);
    int shown = 0;
    for (int play = 0; play < 20; ++play) shown += even(random) < detection(dB) ? 1 : 0;
    const ByLaw said = likelihood_of_laws(binomial(shown, 20), dB);
    for (std::size_t law = 0; law < law_count; ++law) laws[law] += said[law];
  }
  return laws;
}

TEST(Detectability, IsADistributionThatRisesWithStrength) {
  double before = 0.0;
  for (const double above_dB : {-5.0, 0.0, 3.0, 6.0, 12.0, 30.0}) {
    const ByDetection prior = detection_prior({}, above_dB);
    EXPECT_NEAR(std::accumulate(prior.begin(), prior.end(), 0.0), 1.0, 1e-12);
    EXPECT_GT(mean(prior), before) << above_dB;
    before = mean(prior);
  }
}

// Property: what is heard is learned, be it a threshold with scatter, a gentle slope or no slope.
TEST(Detectability, LearnsAThreshold) {
  const auto threshold = [](double dB) {
    return 0.5 * std::erfc((5.0 - dB) / 3.0 / std::sqrt(2.0));
  };
  const ByLaw laws = taught(60, threshold);
  for (const double dB : {5.0, 7.0, 9.0, 12.0})
    EXPECT_NEAR(mean(detection_prior(laws, dB)), threshold(dB), 0.08) << dB;
}

TEST(Detectability, LearnsAGentleSlope) {
  const auto logistic = [](double dB) { return 1.0 / (1.0 + std::exp(-(dB - 1.0) / 4.0)); };
  const ByLaw laws = taught(60, logistic);
  for (const double dB : {3.0, 6.0, 9.0, 12.0})
    EXPECT_NEAR(mean(detection_prior(laws, dB)), logistic(dB), 0.08) << dB;
}

TEST(Detectability, LearnsThatStrengthTellsNothing) {
  const ByLaw laws = taught(60, [](double) { return 0.85; });
  for (const double dB : {2.0, 6.0, 12.0})
    EXPECT_NEAR(mean(detection_prior(laws, dB)), 0.85, 0.05) << dB;
}

}  // namespace
}  // namespace goodside::trace
