#pragma once
#include <span>

namespace goodside::listen {

/// Density at x of an exponential quantity of the given mean > 0 plus a normal error of sigma > 0:
///   f = exp(sigma^2/(2 mean^2) - x/mean) erfc((sigma/mean - x/sigma)/sqrt 2) / (2 mean)
/// Valid:    x > -30 sigma, sigma < 20 mean; beyond, 0 or as near as doubles come.
[[nodiscard]] double exponential_plus_normal_density(double x, double mean, double sigma);

struct RayleighTest {
  int count{};
  double resultant{};      ///< mean resultant length R, 0 (no preferred angle) .. 1
  double direction_deg{};  ///< preferred angle, 0 .. 360
  double chance{1.0};      ///< of so large an R when all angles are equally likely
};

/// p ~ e^-Z [1 + (2Z - Z^2)/(4n) - (24Z - 132Z^2 + 76Z^3 - 9Z^4)/(288 n^2)],  Z = n R^2, held to
/// [0, 1]. Source: N. I. Fisher, Statistical Analysis of Circular Data (1993), section 4.3 (from
/// memory). Accuracy: for fewer than 10 angles read it as an order of magnitude.
[[nodiscard]] double rayleigh_chance(int count, double resultant);

/// The Rayleigh test of `angles_deg` against a uniform spread round the turn. No angles: count 0,
/// chance 1.
[[nodiscard]] RayleighTest rayleigh_test(std::span<const double> angles_deg);

}  // namespace goodside::listen
