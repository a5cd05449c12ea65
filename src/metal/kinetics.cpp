#include "metal/kinetics.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"
#include "metal/bounds.hpp"
#include "metal/deposit.hpp"

namespace goodside::metal {
namespace {

using works::KineticLaw;
using works::Kinetics;

/// So that e to it, times any exchange current and slope, stays finite.
constexpr double largest_exponent = 600.0;

double exponential(double x) {
  return std::exp(std::min(x, largest_exponent));
}

/// F / RT, 1/V.
double thermal(const Kinetics& kinetics) {
  return faraday_C_per_mol / (gas_constant_J_per_mol_K * kinetics.temperature_K);
}

/// The exponents' factors of eta: cathodic and anodic.
struct Factors {
  double cathodic{}, anodic{};
};
Factors factors(const Kinetics& kinetics) {
  if (kinetics.law == KineticLaw::tafel)
    return {std::numbers::ln10 / kinetics.slope_V_per_decade, 0.0};
  return {kinetics.cathodic_coefficient * thermal(kinetics),
          kinetics.anodic_coefficient * thermal(kinetics)};
}

}  // namespace

double current_density_A_per_m2(const Kinetics& kinetics, double eta) {
  if (kinetics.law == KineticLaw::linear) return eta / kinetics.resistance_ohm_m2;
  const auto [cathodic, anodic] = factors(kinetics);
  const double forward = exponential(cathodic * eta);
  const double back = kinetics.law == KineticLaw::tafel ? 0.0 : exponential(-anodic * eta);
  return kinetics.exchange_current_density_A_per_m2 * (forward - back);
}

double conductance_S_per_m2(const Kinetics& kinetics, double eta) {
  if (kinetics.law == KineticLaw::linear) return 1.0 / kinetics.resistance_ohm_m2;
  const auto [cathodic, anodic] = factors(kinetics);
  const double forward = cathodic * exponential(cathodic * eta);
  const double back = kinetics.law == KineticLaw::tafel ? 0.0 : anodic * exponential(-anodic * eta);
  return kinetics.exchange_current_density_A_per_m2 * (forward + back);
}

double overpotential_V(const Kinetics& kinetics, double current) {
  if (kinetics.law == KineticLaw::primary) return 0.0;
  if (kinetics.law == KineticLaw::linear) return current * kinetics.resistance_ohm_m2;
  const double ratio = current / kinetics.exchange_current_density_A_per_m2;
  const auto [cathodic, anodic] = factors(kinetics);
  if (kinetics.law == KineticLaw::tafel) return std::log(ratio) / cathodic;
  // e^(c x) - e^(-a x) = ratio, between the answers without the one and the other term.
  double low = 0.0, high = std::log1p(ratio) / cathodic;
  double eta = high;
  for (int step = 0; step < 200; ++step) {
    const double excess = current_density_A_per_m2(kinetics, eta) - current;
    (excess > 0.0 ? high : low) = eta;
    double next = eta - excess / conductance_S_per_m2(kinetics, eta);
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    if (std::abs(next - eta) <= 1e-15 * high) return next;
    eta = next;
  }
  return eta;
}

double wagner(const Kinetics& kinetics, double current, double conductivity, double length) {
  if (kinetics.law == KineticLaw::primary) return 0.0;
  const double eta = overpotential_V(kinetics, current);
  return conductivity / (conductance_S_per_m2(kinetics, eta) * length);
}

SurfaceState surface_state(const Kinetics& kinetics, double resistance, double beyond) {
  EXPECTS(kinetics.law != KineticLaw::primary || resistance > 0.0);
  if (kinetics.law == KineticLaw::primary) return {beyond / resistance, 1.0 / resistance};
  if (kinetics.law == KineticLaw::linear) {
    const double slope = 1.0 / (resistance + kinetics.resistance_ohm_m2);
    return {beyond * slope, slope};
  }
  // The law's current is at most what would flow at eta = beyond where beyond is positive, so that eta lies
  // between 0 (or, below it, what that current leaves) and beyond.
  const auto left = [&](double eta) {
    return eta + resistance * current_density_A_per_m2(kinetics, eta) - beyond;
  };
  double high = std::max(beyond, 0.0);
  double low =
      std::min({0.0, beyond, beyond - resistance * current_density_A_per_m2(kinetics, 0.0)});
  double eta = high;
  if (high > 0.0) {
    const double most = beyond / resistance;
    eta = std::min(high, std::max(0.0, overpotential_V(kinetics, most)));
  }
  const double fine = 1e-15 * std::max(std::abs(beyond), 1e-3);
  for (int step = 0; step < 200; ++step) {
    const double excess = left(eta);
    (excess > 0.0 ? high : low) = eta;
    double next = eta - excess / (1.0 + resistance * conductance_S_per_m2(kinetics, eta));
    if (!(next >= low && next <= high)) next = 0.5 * (low + high);
    const bool settled = std::abs(next - eta) <= fine;
    eta = next;
    if (settled) break;
  }
  const double slope = conductance_S_per_m2(kinetics, eta);
  return {current_density_A_per_m2(kinetics, eta), slope / (1.0 + resistance * slope)};
}

Outcome check(const Kinetics& kinetics) {
  switch (kinetics.law) {
    case KineticLaw::primary:
      return Done{};
    case KineticLaw::linear: {
      const std::array bounds{
          Bounds{"resistance in ohm m2", kinetics.resistance_ohm_m2, 1e-12, 1e3}};
      return within("kinetics: ", bounds);
    }
    case KineticLaw::tafel: {
      const std::array bounds{Bounds{"slope in V a decade", kinetics.slope_V_per_decade, 1e-3, 2.0},
                              Bounds{"exchange current density in A/m2",
                                     kinetics.exchange_current_density_A_per_m2,
                                     1e-9,
                                     1e5}};
      return within("kinetics: ", bounds);
    }
    case KineticLaw::butler_volmer: {
      const std::array bounds{
          Bounds{"cathodic coefficient", kinetics.cathodic_coefficient, 0.01, 4.0},
          Bounds{"anodic coefficient", kinetics.anodic_coefficient, 0.01, 4.0},
          Bounds{"temperature in K", kinetics.temperature_K, 260.0, 400.0},
          Bounds{"exchange current density in A/m2",
                 kinetics.exchange_current_density_A_per_m2,
                 1e-9,
                 1e5}};
      return within("kinetics: ", bounds);
    }
  }
  return Done{};
}

}  // namespace goodside::metal
