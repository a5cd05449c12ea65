#include "trace/crossed_effects.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include "base/expects.hpp"
#include "stats/interval.hpp"
#include "stats/minimise.hpp"
#include "trace/restricted_likelihood.hpp"

namespace goodside::trace {
namespace {

// Deviations over that of the residual: what a search may try.
constexpr double most_relative = 1e4;
// Evaluations that one bound of a profile takes about, and the operations that all of them may: some
// seconds.
constexpr double profile_evaluations = 600.0, most_work = 2e8;
constexpr int bound_bits = 24;

/// The model with what its fixed part explains taken off and of unit spread, so that steps need no
/// scale.
struct Levelled {
  CrossedModel model;
  Eigen::VectorXd fixed;
  double spread{};
};

Result<Levelled> levelled(const CrossedModel& model) {
  const auto n = static_cast<Eigen::Index>(model.values.size());
  const auto p = static_cast<Eigen::Index>(model.fixed.size());
  EXPECTS(p > 0);
  if (n < p + 2) return Error{Fault::bad_input, "too few readings for a spread"};
  Eigen::MatrixXd x(n, p);
  for (Eigen::Index c = 0; c < p; ++c)
    x.col(c) =
        Eigen::Map<const Eigen::VectorXd>(model.fixed[static_cast<std::size_t>(c)].data(), n);
  const Eigen::VectorXd y = Eigen::Map<const Eigen::VectorXd>(model.values.data(), n);
  Levelled result{.model = model, .fixed = x.colPivHouseholderQr().solve(y)};
  const Eigen::VectorXd rest = y - x * result.fixed;
  result.spread = std::sqrt(rest.squaredNorm() / static_cast<double>(n - p));
  if (!std::isfinite(result.spread) || !(result.spread > 1e-12 * y.norm()))
    return Error{Fault::bad_input, "readings that are all alike have no spread"};
  Eigen::Map<Eigen::VectorXd>(result.model.values.data(), n) = rest / result.spread;
  return result;
}

class Fitter {
 public:
  Fitter(const CrossedModel& model, double confidence)
      : likelihood_{model},
        factors_{model.factors.size()},
        rise_{stats::chi_squared_quantile(confidence, 1.0)} {}

  Outcome fit() {
    if (factors_ > 0) {
      stats::Search search = box(std::vector<double>(factors_, 1.0), 0.5);
      // With thousands of levels the variances are not known to a hundredth: one search is enough.
      if (!may_profile()) {
        search.once = true;
        search.tolerance = 1e-5;
      }
      const auto found = stats::minimise(
          [&](std::span<const double> t) { return likelihood_.criterion(t); }, search);
      if (!found) return found.error();
      relative_ = found->at;
      evaluations_ = found->evaluations;
    }
    const auto parts = likelihood_.parts(relative_);
    deviation_ = likelihood_.best_deviation(parts);
    best_ = likelihood_.criterion(relative_);
    return Done{};
  }

  [[nodiscard]] Variance profiled(std::size_t source) {
    const double at = deviation_of(source);
    near_ = start();
    const auto beyond = [&](double deviation) { return rise_at(source, deviation) - rise_; };
    Variance variance{.value = at * at};
    if (source == factors_ || beyond(0.0) > 0.0) {
      double inside = at;
      // The residual's deviation has no profile at nought; it falls steeply on the way there.
      double outside = source == factors_ ? at / 1.5 : 0.0;
      while (source == factors_ && beyond(outside) <= 0.0) {
        inside = outside;
        outside /= 1.5;
      }
      if (const auto low = stats::root(beyond, outside, inside, bound_bits))
        variance.low = *low * *low;
    }
    double inside = at, outside = at > 0.0 ? 1.5 * at : 0.1 * deviation_;
    near_ = start();
    while (beyond(outside) <= 0.0 && outside < most_relative * deviation_) {
      inside = outside;
      outside *= 1.5;
    }
    const auto high = stats::root(beyond, inside, outside, bound_bits);
    variance.high = high ? *high * *high : outside * outside;
    return variance;
  }

  /// From the curvature of -2 l over the logarithms of the deviations above nought.
  [[nodiscard]] std::vector<Variance> delta() {
    std::vector<std::size_t> moved;
    for (std::size_t k = 0; k <= factors_; ++k)
      if (deviation_of(k) > 1e-4 * deviation_) moved.push_back(k);
    const Eigen::MatrixXd covariance = 2.0 * curvature(moved).inverse();
    std::vector<Variance> result(factors_ + 1);
    for (std::size_t k = 0; k <= factors_; ++k) {
      const double at = deviation_of(k);
      result[k].value = at * at;
      const auto place = std::ranges::find(moved, k);
      const auto i = static_cast<Eigen::Index>(place - moved.begin());
      if (place == moved.end() || !(covariance(i, i) > 0.0)) {
        result[k].high = bound_with_others_held(k);
        continue;
      }
      const double reach = std::sqrt(rise_ * covariance(i, i));
      result[k].low = at * at * std::exp(-2.0 * reach);
      result[k].high = at * at * std::exp(2.0 * reach);
    }
    return result;
  }

  [[nodiscard]] bool may_profile() const {
    const double bounds = 2.0 * static_cast<double>(factors_ + 1);
    return bounds * profile_evaluations * likelihood_.work() < most_work;
  }

  [[nodiscard]] std::vector<std::vector<Effect>> effects(const CrossedModel& model) {
    static_cast<void>(likelihood_.parts(relative_));
    const Eigen::VectorXd values = likelihood_.effects();
    const auto deviations = likelihood_.effect_deviations();
    std::vector<std::vector<Effect>> result;
    std::size_t at = 0;
    for (const auto& factor : model.factors) {
      auto& own = result.emplace_back();
      for (int level = 0; level < factor.levels; ++level, ++at)
        own.push_back(
            {.value = values[static_cast<Eigen::Index>(at)], .sigma = deviations[at] * deviation_});
    }
    return result;
  }

  [[nodiscard]] std::vector<double> fixed() {
    static_cast<void>(likelihood_.parts(relative_));
    const Eigen::VectorXd beta = likelihood_.fixed();
    return {beta.data(), beta.data() + beta.size()};
  }
  [[nodiscard]] double best() const { return best_; }
  [[nodiscard]] int evaluations() const { return evaluations_; }
  [[nodiscard]] std::size_t freedom() const { return likelihood_.freedom(); }

 private:
  [[nodiscard]] static stats::Search box(std::vector<double> from, double step) {
    const std::size_t count = from.size();
    return {.start = std::move(from),
            .first_step = std::vector<double>(count, step),
            .low = std::vector<double>(count, 0.0),
            .high = std::vector<double>(count, most_relative)};
  }

  [[nodiscard]] double deviation_of(std::size_t source) const {
    return source == factors_ ? deviation_ : relative_[source] * deviation_;
  }

  /// Of a profile: the deviations of all sources but the one held, in order.
  [[nodiscard]] std::vector<double> start() const {
    std::vector<double> all = relative_;
    for (double& one : all) one *= deviation_;
    all.push_back(deviation_);
    return all;
  }

  double minus_two_l(const std::vector<double>& deviations) {
    ++evaluations_;
    std::vector<double> relative;
    for (std::size_t k = 0; k < factors_; ++k)
      relative.push_back(deviations[k] / deviations[factors_]);
    return likelihood_.criterion(relative, deviations[factors_]);
  }

  /// How far -2 l rises when one deviation is held, the others at their best.
  double rise_at(std::size_t source, double deviation) {
    std::vector<double> all = near_;
    all[source] = deviation;
    if (factors_ == 0) return minus_two_l(all) - best_;
    stats::Search search;
    for (std::size_t k = 0; k <= factors_; ++k) {
      if (k == source) continue;
      const bool residual = k == factors_;
      search.start.push_back(all[k]);
      search.first_step.push_back(0.1 * std::max(deviation_, all[k]));
      search.low.push_back(residual ? 1e-3 * deviation_ : 0.0);
      search.high.push_back(most_relative * deviation_);
    }
    search.once = true;
    search.tolerance = 1e-4;
    const auto at = [&](std::span<const double> rest) {
      std::size_t i = 0;
      for (std::size_t k = 0; k <= factors_; ++k)
        if (k != source) all[k] = rest[i++];
      return minus_two_l(all);
    };
    const auto found = stats::minimise(at, search);
    if (!found) return at(search.start) - best_;
    static_cast<void>(at(found->at));
    near_ = all;
    return found->value - best_;
  }

  Eigen::MatrixXd curvature(const std::vector<std::size_t>& moved) {
    constexpr double step = 0.02;
    const auto count = static_cast<Eigen::Index>(moved.size());
    const auto at = [&](Eigen::Index i, double a, Eigen::Index j, double b) {
      auto all = start();
      all[moved[static_cast<std::size_t>(i)]] *= std::exp(a * step);
      all[moved[static_cast<std::size_t>(j)]] *= std::exp(b * step);
      return minus_two_l(all);
    };
    Eigen::MatrixXd second(count, count);
    for (Eigen::Index i = 0; i < count; ++i)
      for (Eigen::Index j = 0; j <= i; ++j)
        second(i, j) = second(j, i) =
            i == j ? (at(i, 1, j, 0) - 2.0 * best_ + at(i, -1, j, 0)) / (step * step)
                   : (at(i, 1, j, 1) - at(i, 1, j, -1) - at(i, -1, j, 1) + at(i, -1, j, -1)) /
                         (4.0 * step * step);
    return second;
  }

  double bound_with_others_held(std::size_t source) {
    const auto beyond = [&](double deviation) {
      auto all = start();
      all[source] = deviation;
      return minus_two_l(all) - best_ - rise_;
    };
    double outside = std::max(0.1 * deviation_, 1.5 * deviation_of(source));
    while (beyond(outside) <= 0.0 && outside < most_relative * deviation_) outside *= 1.5;
    const auto high = stats::root(beyond, deviation_of(source), outside, bound_bits);
    return high ? *high * *high : outside * outside;
  }

  RestrictedLikelihood likelihood_;
  std::size_t factors_;
  double rise_;
  std::vector<double> relative_{}, near_{};
  double deviation_{}, best_{};
  int evaluations_{};
};

}  // namespace

Result<CrossedFit> fit_crossed(const CrossedModel& model, double confidence) {
  const auto level = levelled(model);
  if (!level) return level.error();
  Fitter fitter{level->model, confidence};
  if (const auto done = fitter.fit(); !done) return done.error();

  CrossedFit fit;
  fit.profiled = fitter.may_profile();
  if (fit.profiled)
    for (std::size_t k = 0; k <= model.factors.size(); ++k)
      fit.variances.push_back(fitter.profiled(k));
  else
    fit.variances = fitter.delta();
  fit.effects = fitter.effects(model);
  fit.fixed = fitter.fixed();
  fit.evaluations = fitter.evaluations();
  // Back to the readings' own unit.
  const double unit = level->spread;
  for (auto& variance : fit.variances) {
    variance.value *= unit * unit;
    variance.low *= unit * unit;
    variance.high *= unit * unit;
  }
  for (auto& factor : fit.effects)
    for (auto& effect : factor) {
      effect.value *= unit;
      effect.sigma *= unit;
    }
  for (std::size_t c = 0; c < fit.fixed.size(); ++c)
    fit.fixed[c] = level->fixed[static_cast<Eigen::Index>(c)] + fit.fixed[c] * unit;
  fit.criterion = fitter.best() + 2.0 * static_cast<double>(fitter.freedom()) * std::log(unit);
  return fit;
}

}  // namespace goodside::trace
