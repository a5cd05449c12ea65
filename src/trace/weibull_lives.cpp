#include "trace/weibull_lives.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/expects.hpp"
#include "stats/interval.hpp"
#include "stats/minimise.hpp"
#include "stats/quadrature.hpp"

namespace goodside::trace {
namespace {

// Shapes from 0.05 to 50.
const double least_log_spread = std::log(1.0 / 50.0), most_log_spread = std::log(1.0 / 0.05);
constexpr double age_reach = 10.0;
// Beyond it a hazard is as good as boundless, and still a number.
constexpr double most_exponent = 700.0;
constexpr int bound_bits = 21;
const double tenth_hazard = -std::log1p(-0.1);

/// log(1 - exp(-x)) for x >= 0.
double log_share(double x) {
  return std::log(std::max(-std::expm1(-x), std::numeric_limits<double>::min()));
}

/// A law made ready for many ages, all in their logarithm.
struct Ready {
  double log_scale{}, shape{}, spread{};
  [[nodiscard]] double accumulated(double log_age) const {
    return std::exp(std::min((log_age - log_scale) * shape, most_exponent));
  }
  [[nodiscard]] double log_hazard(double log_age) const {
    return (log_age - log_scale) * shape - log_age + std::log(shape);
  }
  [[nodiscard]] double log_age(double hazard) const {
    return log_scale + spread * std::log(std::max(hazard, std::numeric_limits<double>::min()));
  }
};
using ReadyLaws = std::vector<Ready>;

double total(const ReadyLaws& laws, double log_age) {
  double sum = 0.0;
  for (const auto& law : laws) sum += law.accumulated(log_age);
  return sum;
}

/// log of the integral over (above, to] of h_k exp(-sum of the hazard since `above`). With v the
/// share of cause k's own ends, exp(-(H_k(t) - H_k(above))) = 1 - v p, it is p times the mean over v
/// of what the other causes leave.
double log_ended_by(const ObservedLife& life, const ReadyLaws& laws, std::size_t k) {
  const double from = std::log(life.above), to = std::log(life.to);
  const double before = laws[k].accumulated(from);
  const double own = laws[k].accumulated(to) - before;
  const double log_p = log_share(own);
  if (laws.size() == 1) return log_p;
  const double p = -std::expm1(-own), others_before = total(laws, from) - before;
  double mean = 0.0;
  for (const auto& [s, weight] : stats::gauss_legendre()) {
    // Close points at both ends, where v runs as a power of the age or of what is left of it.
    const double v = s * s * s * (10.0 - 15.0 * s + 6.0 * s * s);
    const double density = 30.0 * s * s * (1.0 - s) * (1.0 - s);
    const double log_age = std::clamp(laws[k].log_age(before - std::log1p(-v * p)), from, to);
    double others = -others_before;
    for (std::size_t j = 0; j < laws.size(); ++j)
      if (j != k) others += laws[j].accumulated(log_age);
    mean += weight * density * std::exp(-others);
  }
  return log_p + std::log(std::max(mean, std::numeric_limits<double>::min()));
}

double log_hazard_of(const ObservedLife& life, const ReadyLaws& laws) {
  const double log_age = std::log(life.to);
  if (life.cause) return laws[*life.cause].log_hazard(log_age);
  double sum = 0.0;
  for (const auto& law : laws) sum += std::exp(law.log_hazard(log_age));
  return std::log(sum);
}

double log_end(const ObservedLife& life, const ReadyLaws& laws) {
  if (life.above == life.to) return log_hazard_of(life, laws);
  if (life.cause) return log_ended_by(life, laws, *life.cause);
  return log_share(total(laws, std::log(life.to)) - total(laws, std::log(life.above)));
}

template <class Laws>
auto& figure_of(Laws& laws, std::size_t i) {
  auto& law = laws[i / 2];
  return i % 2 == 0 ? law.log_scale : law.log_spread;
}

/// A point of the search: which figures move, and the laws they make.
class Parameters {
 public:
  Parameters(std::vector<WeibullLaw> laws, const std::vector<bool>& shape_fitted)
      : laws_{std::move(laws)} {
    for (std::size_t k = 0; k < laws_.size(); ++k) {
      free_.push_back(2 * k);
      if (shape_fitted[k]) free_.push_back(2 * k + 1);
    }
  }

  /// Holds one cause's figure at a value: its log spread, or the log of the age at which its
  /// accumulated hazard is `hazard`.
  void hold(std::size_t cause, std::optional<double> hazard, double value) {
    std::erase(free_, 2 * cause + (hazard ? 0 : 1));
    held_ = Held{cause, hazard, value};
    apply();
  }

  [[nodiscard]] std::vector<double> point() const {
    std::vector<double> at;
    for (const std::size_t i : free_) at.push_back(figure_of(laws_, i));
    return at;
  }

  std::span<const WeibullLaw> laws(std::span<const double> point) {
    for (std::size_t i = 0; i < free_.size(); ++i) figure_of(laws_, free_[i]) = point[i];
    apply();
    return laws_;
  }
  [[nodiscard]] const std::vector<WeibullLaw>& laws() const { return laws_; }

  /// Beside the best fit a search need not be begun again, nor be finer than 1e-3 of its step: the
  /// likelihood is flat there and within 1e-8 of its best.
  [[nodiscard]] stats::Search search(double step, bool beside) const {
    stats::Search search;
    if (beside) {
      search.once = true;
      search.tolerance = 1e-3;
    }
    search.start = point();
    for (std::size_t i = 0; i < free_.size(); ++i) {
      const bool spread = free_[i] % 2 == 1;
      search.first_step.push_back(step);
      search.low.push_back(spread ? least_log_spread : search.start[i] - age_reach);
      search.high.push_back(spread ? most_log_spread : search.start[i] + age_reach);
    }
    return search;
  }

 private:
  struct Held {
    std::size_t cause{};
    std::optional<double> hazard{};  ///< none: the spread is held
    double value{};
  };

  void apply() {
    if (!held_) return;
    auto& law = laws_[held_->cause];
    if (held_->hazard)
      law.log_scale = held_->value - std::exp(law.log_spread) * std::log(*held_->hazard);
    else
      law.log_spread = held_->value;
  }

  std::vector<WeibullLaw> laws_;
  std::vector<std::size_t> free_{};
  std::optional<Held> held_{};
};

/// The greatest log likelihood over what is free; `parameters` end at it.
Result<double> climb(std::span<const ObservedLife> lives,
                     Parameters& parameters,
                     bool beside,
                     int& evaluations) {
  const auto search = parameters.search(beside ? 0.05 : 0.3, beside);
  if (search.start.empty()) return log_likelihood(lives, parameters.laws());
  // Far off, where the search only passes, the likelihood need not be told apart from its floor.
  const auto loss = [&](std::span<const double> point) {
    return std::min(-log_likelihood(lives, parameters.laws(point)), 1e9);
  };
  const auto found = stats::minimise(loss, search);
  if (!found) return found.error();
  evaluations += found->evaluations;
  static_cast<void>(parameters.laws(found->at));
  return -found->value;
}

/// A scale to begin from: ends in the middle of what is known of them, as if the shape were known.
WeibullLaw first_guess(std::span<const ObservedLife> lives, std::size_t cause, bool shape_fitted) {
  const double shape = shape_fitted ? 1.5 : 1.0;
  double sum = 0.0, ends = 0.0;
  for (const auto& life : lives) {
    sum += std::pow(life.ended() ? 0.5 * (life.above + life.to) : life.above, shape);
    if (life.ended() && life.cause.value_or(cause) == cause) ends += 1.0;
  }
  return {.log_scale = std::log(std::max(sum, std::numeric_limits<double>::min()) / ends) / shape,
          .log_spread = -std::log(shape)};
}

}  // namespace

double WeibullLaw::accumulated(double age) const {
  return std::exp(std::min((std::log(age) - log_scale) * std::exp(-log_spread), most_exponent));
}

double WeibullLaw::log_hazard(double age) const {
  const double shape = std::exp(-log_spread), log_age = std::log(age);
  return (log_age - log_scale) * shape - log_age - log_spread;
}

double WeibullLaw::age(double hazard) const {
  return hazard > 0.0 ? std::exp(log_scale + std::exp(log_spread) * std::log(hazard)) : 0.0;
}

double log_likelihood(std::span<const ObservedLife> lives, std::span<const WeibullLaw> laws) {
  ReadyLaws ready;
  for (const auto& law : laws)
    ready.push_back({.log_scale = law.log_scale,
                     .shape = std::exp(-law.log_spread),
                     .spread = std::exp(law.log_spread)});
  double sum = 0.0;
  for (const auto& life : lives) {
    sum -= total(ready, std::log(life.above));
    if (life.ended()) sum += log_end(life, ready);
  }
  return sum;
}

Result<WeibullFit> fit_weibull(std::span<const ObservedLife> lives,
                               std::size_t causes,
                               int ends_for_shape) {
  EXPECTS(causes > 0);
  std::vector<int> ends(causes);
  for (const auto& life : lives) {
    EXPECTS(life.above >= 0.0 && life.to >= life.above && life.to > 0.0);
    if (life.ended() && (life.cause || causes == 1)) ++ends[life.cause.value_or(0)];
  }
  if (std::ranges::find(ends, 0) != ends.end())
    return Error{Fault::bad_input, "a life law needs at least one stamper that has ended by it"};

  WeibullFit fit;
  for (std::size_t k = 0; k < causes; ++k) {
    fit.shape_fitted.push_back(ends[k] >= ends_for_shape);
    fit.laws.push_back(first_guess(lives, k, fit.shape_fitted[k]));
  }
  Parameters parameters{fit.laws, fit.shape_fitted};
  const auto best = climb(lives, parameters, false, fit.evaluations);
  if (!best) return best.error();
  fit.laws = parameters.laws();
  fit.log_likelihood = *best;
  for (std::size_t k = 0; k < causes; ++k)
    if (fit.shape_fitted[k] && fit.laws[k].log_spread < least_log_spread + 0.01)
      return Error{Fault::out_of_range,
                   "the ends lie so close together that the shape of the life law cannot be told"};
  return fit;
}

namespace {

/// The shape where there is no `hazard`, else the age at which the cause's hazard comes to it.
works::BoundedFigure bounded_at(std::span<const ObservedLife> lives,
                                const WeibullFit& fit,
                                std::size_t cause,
                                std::optional<double> hazard,
                                double confidence) {
  const auto& law = fit.laws[cause];
  const bool is_shape = !hazard;
  const double best = is_shape ? law.log_spread : std::log(law.age(*hazard));
  const auto shown = [&](double value) { return std::exp(is_shape ? -value : value); };
  works::BoundedFigure result{.value = shown(best)};
  if (is_shape && !fit.shape_fitted[cause]) return result;

  const double reach = std::sqrt(stats::chi_squared_quantile(confidence, 1.0));
  // How far beyond the bound, on the scale of a normal deviate; never far for want of a fit.
  Parameters near{fit.laws, fit.shape_fitted};
  const auto beyond = [&](double value) {
    Parameters held{near.laws(), fit.shape_fitted};
    held.hold(cause, hazard, value);
    int evaluations = 0;
    const auto climbed = climb(lives, held, true, evaluations);
    if (climbed) near = Parameters{held.laws(), fit.shape_fitted};
    return climbed ? std::sqrt(std::max(0.0, 2.0 * (fit.log_likelihood - *climbed))) - reach
                   : -reach;
  };
  const auto bound = [&](double direction) -> std::optional<double> {
    near = Parameters{fit.laws, fit.shape_fitted};
    const double end = is_shape ? (direction > 0.0 ? most_log_spread : least_log_spread)
                                : best + direction * age_reach;
    double inside = best;
    for (double step = 0.1; inside != end; step *= 2.0) {
      const double next =
          direction > 0.0 ? std::min(end, inside + step) : std::max(end, inside - step);
      if (beyond(next) > 0.0) {
        const auto edge =
            stats::root(beyond, std::min(inside, next), std::max(inside, next), bound_bits);
        return edge ? std::optional{shown(*edge)} : std::nullopt;
      }
      inside = next;
    }
    return std::nullopt;
  };
  result.low = bound(is_shape ? 1.0 : -1.0);
  result.high = bound(is_shape ? -1.0 : 1.0);
  return result;
}

}  // namespace

works::BoundedFigure bounded(std::span<const ObservedLife> lives,
                             const WeibullFit& fit,
                             std::size_t cause,
                             WeibullFigure figure,
                             double confidence) {
  std::optional<double> hazard;
  if (figure == WeibullFigure::scale) hazard = 1.0;
  if (figure == WeibullFigure::tenth) hazard = tenth_hazard;
  return bounded_at(lives, fit, cause, hazard, confidence);
}

works::BoundedFigure bounded_age(std::span<const ObservedLife> lives,
                                 const WeibullFit& fit,
                                 std::size_t cause,
                                 double share,
                                 double confidence) {
  EXPECTS(share > 0.0 && share < 1.0);
  return bounded_at(lives, fit, cause, -std::log1p(-share), confidence);
}

}  // namespace goodside::trace
