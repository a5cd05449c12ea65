#include "trace/weibull_lives.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "stats/quadrature.hpp"
#include "trace/published_lives.hpp"

namespace goodside::trace {
namespace {

constexpr int ends_for_shape = 3;

struct Figures {
  const char* name;
  std::vector<ObservedLife> lives;
  double log_likelihood;
  works::BoundedFigure shape, scale, tenth;
};

// Published: R 4.2.2, survival 3.5-3: survreg(dist = "weibull"), interval2 where intervals are;
// bounds from the profile of the same likelihood: tests/published/lives/values.R.
std::vector<Figures> figures() {
  return {{"cracks",
           lives_of_counts(published::cracked_parts_days),
           -309.6311809,
           {1.484767544, 1.2152087, 1.7899989},
           {2182.00414, 1907.5372, 2567.3258},
           {479.3173666, 350.47111, 614.09036}},
          {"turbine",
           lives_of_inspections(published::cracked_wheels),
           -189.2871934,
           {2.175779909, 1.6689651, 2.7320356},
           {46.77723025, 42.094512, 54.736293},
           {16.62846154, 13.352743, 19.585984}},
          {"genfan",
           lives_of_watched(published::generator_fans),
           -135.1527199,
           {1.05844585, 0.60597419, 1.6579409},
           {26296.84517, 13631.239, 106086.92},
           {3137.240778, 1420.2466, 5662.4843}},
          {"ovarian",
           lives_of_watched(published::ovarian_trial),
           -97.95390105,
           {1.10805974, 0.63430679, 1.7358145},
           {1225.418959, 767.76377, 2813.3463},
           {160.7949785, 44.678345, 327.89217}},
          {"radiotherapy",
           lives_of_intervals(published::radiotherapy),
           -64.73147062,
           {1.121612846, 0.71036759, 1.6528774},
           {57.51309588, 39.971457, 104.56278},
           {7.734148431, 2.9497682, 13.832444}},
          {"with chemotherapy",
           lives_of_intervals(published::with_chemotherapy),
           -75.71506839,
           {2.030238431, 1.5119902, 2.6325287},
           {28.04247406, 23.734072, 33.587635},
           {9.256214343, 6.0374917, 12.596884}}};
}

void expect_figure(const works::BoundedFigure& figure, const works::BoundedFigure& published) {
  EXPECT_NEAR(figure.value / published.value, 1.0, 2e-6);
  ASSERT_TRUE(figure.low && figure.high);
  EXPECT_NEAR(*figure.low / *published.low, 1.0, 2e-6);
  EXPECT_NEAR(*figure.high / *published.high, 1.0, 2e-6);
}

TEST(WeibullLives, AgreeWithSurvreg) {
  for (const auto& one : figures()) {
    SCOPED_TRACE(one.name);
    const auto fit = fit_weibull(one.lives, 1, ends_for_shape);
    ASSERT_TRUE(fit) << fit.error().text;
    EXPECT_NEAR(fit->log_likelihood, one.log_likelihood, 1e-6);
    expect_figure(bounded(one.lives, *fit, 0, WeibullFigure::shape, 0.95), one.shape);
    expect_figure(bounded(one.lives, *fit, 0, WeibullFigure::scale, 0.95), one.scale);
    expect_figure(bounded(one.lives, *fit, 0, WeibullFigure::tenth, 0.95), one.tenth);
  }
}

// Published: W. Nelson, Applied Life Data Analysis, 1982, chapter 9: the cracked parts' Weibull by
// maximum likelihood, 71.69 months and 1.485 (from memory).
TEST(WeibullLives, AgreeWithNelsonsCrackedParts) {
  const auto lives = lives_of_counts(published::cracked_parts);
  const auto fit = fit_weibull(lives, 1, ends_for_shape);
  ASSERT_TRUE(fit);
  EXPECT_NEAR(std::exp(fit->laws[0].log_scale), 71.69, 0.005);
  EXPECT_NEAR(std::exp(-fit->laws[0].log_spread), 1.485, 0.0005);
}

// Published: R 4.2.2, survival 3.5-3, mgus: survreg for each cause, the other's ends being losses.
TEST(WeibullLives, CompetingCausesAgreeWithSurvreg) {
  const auto lives = lives_of_watched(published::gammopathy);
  const auto fit = fit_weibull(lives, 2, ends_for_shape);
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->log_likelihood, -690.451811 - 1614.733524, 2e-6);
  expect_figure(bounded(lives, *fit, 0, WeibullFigure::shape, 0.95),
                {1.338163137, 1.0860701, 1.6196544});
  expect_figure(bounded(lives, *fit, 0, WeibullFigure::scale, 0.95),
                {14692.91189, 12019.122, 19169.01});
  expect_figure(bounded(lives, *fit, 1, WeibullFigure::tenth, 0.95),
                {905.4879756, 655.39085, 1193.7487});
}

// Second road: what an end in an interval weighs, by an adaptive rule over the age itself.
TEST(WeibullLives, IntervalsOfCompetingCausesAgreeWithPlainIntegration) {
  const std::vector<WeibullLaw> laws{{.log_scale = std::log(900.0), .log_spread = std::log(0.4)},
                                     {.log_scale = std::log(2500.0), .log_spread = std::log(1.2)},
                                     {.log_scale = std::log(1400.0), .log_spread = 0.0}};
  const auto survivors = [&](double age) {
    double hazard = 0.0;
    for (const auto& law : laws) hazard += law.accumulated(age);
    return std::exp(-hazard);
  };
  struct Case {
    double above, to;
  };
  for (const auto& [above, to] : {Case{100, 900}, Case{880, 890}, Case{1, 3000}, Case{1500, 1501}})
    for (std::size_t k = 0; k < laws.size(); ++k) {
      const double plain = stats::integrate(
          [&](double age) { return std::exp(laws[k].log_hazard(age)) * survivors(age); },
          above,
          to);
      const std::vector<ObservedLife> one{{.above = above, .to = to, .cause = k}};
      EXPECT_NEAR(std::exp(log_likelihood(one, laws)) / plain, 1.0, 1e-6) << above << " " << k;
    }
}

// Property: the causes' shares of an interval add up to that of an end whose cause nobody knows.
TEST(WeibullLives, CausesAddUpToAnUnknownOne) {
  const std::vector<WeibullLaw> laws{{.log_scale = 6.8, .log_spread = -1.0},
                                     {.log_scale = 7.5, .log_spread = 0.3}};
  double sum = 0.0;
  for (const std::size_t k : {0U, 1U})
    sum += std::exp(
        log_likelihood(std::vector<ObservedLife>{{.above = 0, .to = 1000, .cause = k}}, laws));
  const std::vector<ObservedLife> unknown{{.above = 0, .to = 1000}};
  EXPECT_NEAR(std::exp(log_likelihood(unknown, laws)), sum, 1e-6);
}

// Property: ages in other units give the same shape and the scale in those units.
TEST(WeibullLives, ScaleWithTheUnitOfAge) {
  auto lives = lives_of_intervals(published::with_chemotherapy);
  const auto months = fit_weibull(lives, 1, ends_for_shape);
  for (auto& life : lives) {
    life.above *= 1000.0;
    life.to *= 1000.0;
  }
  const auto thousandths = fit_weibull(lives, 1, ends_for_shape);
  ASSERT_TRUE(months && thousandths);
  EXPECT_NEAR(months->laws[0].log_spread, thousandths->laws[0].log_spread, 1e-6);
  EXPECT_NEAR(months->laws[0].log_scale + std::log(1000.0), thousandths->laws[0].log_scale, 1e-6);
}

// Published (closed form): with shape 1 the scale is the sum of ages over the ends.
TEST(WeibullLives, FewEndsKeepTheShapeAtOne) {
  const std::vector<ObservedLife> lives{{700, 700, 0}, {1100, 1100, 0}, {1500}, {1500}};
  const auto fit = fit_weibull(lives, 1, ends_for_shape);
  ASSERT_TRUE(fit);
  EXPECT_FALSE(fit->shape_fitted[0]);
  EXPECT_NEAR(std::exp(fit->laws[0].log_scale), 4800.0 / 2.0, 1e-3);
  const auto shape = bounded(lives, *fit, 0, WeibullFigure::shape, 0.95);
  EXPECT_EQ(shape.value, 1.0);
  EXPECT_FALSE(shape.low || shape.high);
}

// Regression of principle: ends that all fit one age tell no shape; that is said, not invented.
TEST(WeibullLives, EndsThatFitOneAgeAreRefused) {
  const std::vector<ObservedLife> lives{
      {0, 1000, 0}, {400, 1000, 0}, {900, 1500, 0}, {700, 1200, 0}};
  const auto fit = fit_weibull(lives, 1, ends_for_shape);
  ASSERT_FALSE(fit);
  EXPECT_EQ(fit.error().fault, Fault::out_of_range);
}

TEST(WeibullLives, NoEndsAreRefused) {
  const std::vector<ObservedLife> lives{{700}, {1100}};
  const auto fit = fit_weibull(lives, 1, ends_for_shape);
  ASSERT_FALSE(fit);
  EXPECT_EQ(fit.error().fault, Fault::bad_input);
}

}  // namespace
}  // namespace goodside::trace
