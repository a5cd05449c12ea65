#pragma once
#include <cstddef>
#include <span>
#include <vector>

namespace goodside::listen {

/// Prediction-error filter  A(z) = 1 - sum_i a_i z^-i  of an autoregressive process
///     x[n] = sum_{i=1..P} a_i x[n - i] + e[n].
struct ArModel {
  std::vector<double> taps;  ///< 1, -a_1 .. -a_P
  double error{};            ///< mean square of e, in the lags' unit
};

/// From autocorrelation lags r[0] .. r[P] by Levinson's recursion.
/// Source:   N. Levinson 1947, J. Durbin 1960. r[0] > 0. Lags that are not positive definite, as rounding makes
/// them, end the recursion: the taps from there on are 0. Cost: P^2.
ArModel levinson(std::span<const double> lags);

/// r[k] = sum_n x[n] x[n + k], k = 0 .. lags.size()-1; zeros outside. Summed in double: music's innovation lies
/// 60 to 90 dB under it.
void autocorrelate(std::span<const float> samples, std::span<double> lags);

/// Least-squares interpolation of samples from .. to-1 under the model: the values that make the sum of e^2
/// over all n that reach them least,
///     minimise |A_u u + A_k x_k|^2,   u = -(A_u^T A_u)^-1 A_u^T A_k x_k.
/// Source:   Godsill and Rayner, Digital Audio Restoration (1998), chapter 5.
/// P samples must lie on both sides. Samples are double, for the programme is 60 dB over its innovation. Cost:
/// the cube of the gap.
std::vector<double> interpolate(const ArModel& model,
                                std::span<const double> samples,
                                std::size_t from,
                                std::size_t to);

}  // namespace goodside::listen
