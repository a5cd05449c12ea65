#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "base/result.hpp"

namespace goodside::trace {

/// One source of spread: which of its levels each reading has, counted from 0.
struct Factor {
  std::vector<int> level{};
  int levels{};
};

/// y = X beta + sum_k Z_k b_k + e with b_k ~ N(0, v_k), e ~ N(0, v): random intercepts, crossed or
/// nested as the readings are.
struct CrossedModel {
  std::vector<double> values{};              ///< y[n]
  std::vector<Factor> factors{};             ///< Z_k
  std::vector<std::vector<double>> fixed{};  ///< columns of X[n]; at least one, independent
};

struct Variance {
  double value{}, low{}, high{};
};
struct Effect {
  double value{}, sigma{};  ///< b given all readings and the variances; its standard deviation
};

struct CrossedFit {
  std::vector<Variance> variances{};           ///< of the factors, then of the residual
  std::vector<double> fixed{};                 ///< beta
  std::vector<std::vector<Effect>> effects{};  ///< of each factor's levels
  double criterion{};                          ///< -2 log restricted likelihood
  bool profiled{};                             ///< the intervals come from the profile, else delta
  int evaluations{};
};

/// Variances by restricted maximum likelihood. With t_k^2 = v_k / v, Z of all factors scaled by t,
/// L L' = Z'Z + I, R'R what X keeps beside Z, r^2 the penalised sum of squares:
///   -2 l = log|L|^2 + log|R|^2 + (n - p)(1 + log(2 pi r^2 / (n - p))),
/// least over t >= 0. Source: D. Bates, M. Maechler, B. Bolker, S. Walker, "Fitting linear
/// mixed-effects models using lme4", J. Statistical Software 67 (1), 2015, equations 41, 42.
/// Intervals at `confidence`: a deviation's profile of -2 l rises by chi2(confidence; 1) over its
/// least value; towards nought it may not, then the interval begins there. Where the profile would
/// take more than a few seconds (some thousand levels), they are of the delta method on the logarithm of the
/// deviation, and for a variance of nought the profile with the others held.
/// Cost: a sparse factorisation an evaluation, about 100 for the fit, 5,000 for the profiles.
/// Errors: Fault::bad_input for fewer readings than fixed columns + 2, or readings without any
/// spread; Fault::not_converged.
[[nodiscard]] Result<CrossedFit> fit_crossed(const CrossedModel&, double confidence);

}  // namespace goodside::trace
