#include "press/flow_law.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::press {
namespace {

constexpr double gas_constant_J_per_molK = 8.31446261815324;  // [CODATA2018]
constexpr double wlf_range_K = 100.0;
constexpr double thickest_shift = 1e30;

double wlf_log10(const FlowLaw& law, double temperature_K) {
  const double above = temperature_K - law.wlf_reference_K;
  // Below the glass temperature nothing is measured; the shift stays finite there.
  const double held = std::max(above, -0.5 * law.wlf_c2_K);
  return -law.wlf_c1 * held / (law.wlf_c2_K + held);
}

/// log a from the law's own origin, so that differences hold across both branches.
double log_shift(const FlowLaw& law, double temperature_K) {
  const auto arrhenius = [&](double to_K, double from_K) {
    return law.activation_J_per_mol / gas_constant_J_per_molK * (1.0 / to_K - 1.0 / from_K);
  };
  if (!law.wlf) return arrhenius(temperature_K, law.reference_K);
  const double end_K = law.wlf_reference_K + wlf_range_K;
  const double within = std::min(temperature_K, end_K);
  double value = std::numbers::ln10 * wlf_log10(law, within);
  if (temperature_K > end_K) value += arrhenius(temperature_K, end_K);
  return value;
}

double signed_power(double x, double power) {
  return std::copysign(std::pow(std::abs(x), power), x);
}

}  // namespace

double FlowLaw::shift(double temperature_K) const {
  const double log = log_shift(*this, temperature_K) - (wlf ? log_shift(*this, reference_K) : 0.0);
  return std::min(std::exp(log), thickest_shift);
}

double FlowLaw::consistency_at(double temperature_K) const {
  return consistency_Pa_sn * std::pow(shift(temperature_K), exponent);
}

void gap_flow(const FlowLaw& law,
              std::span<const double> bounds,
              std::span<const double> temperature_K,
              GapFlow& out) {
  const std::size_t layers = temperature_K.size();
  EXPECTS(bounds.size() == layers + 1 && layers > 0);
  const double slow = 1.0 / law.exponent;
  // Fluidity m^(-1/n) relative to the reference's; the rate shift enters to the first power.
  auto& fluidity = out.fluidity;
  fluidity.resize(layers);
  const double reference = law.wlf ? log_shift(law, law.reference_K) : 0.0;
  for (std::size_t i = 0; i < layers; ++i)
    fluidity[i] = temperature_K[i] < law.solid_below_K
                      ? 0.0
                      : std::exp(reference - log_shift(law, temperature_K[i]));
  out.dissipated.assign(layers, 0.0);
  out.conductance = 0.0;
  if (*std::ranges::max_element(fluidity) <= 0.0) return;

  // No slip at both walls: int sign(z - z0) |z - z0|^(1/n) / m^(1/n) dz = 0, falling in z0.
  const auto slip = [&](double turning) {
    double sum = 0.0, before = std::pow(std::abs(bounds[0] - turning), slow + 1.0);
    for (std::size_t i = 0; i < layers; ++i) {
      const double after = std::pow(std::abs(bounds[i + 1] - turning), slow + 1.0);
      sum += fluidity[i] * (after - before);
      before = after;
    }
    return sum;
  };
  double low = 0.0, high = 1.0, turning = 0.5;
  if (const double scale = slip(0.0); std::abs(slip(turning)) > 1e-12 * scale) {
    double at_low = scale, at_high = slip(1.0);
    int side = 0;  // regula falsi, Illinois
    for (int i = 0; i < 60 && high - low > 1e-9; ++i) {
      turning = (low * at_high - high * at_low) / (at_high - at_low);
      const double here = slip(turning);
      if (std::abs(here) <= 1e-12 * scale) break;
      if (here > 0.0) {
        low = turning;
        at_low = here;
        if (side == 1) at_high *= 0.5;
        side = 1;
      } else {
        high = turning;
        at_high = here;
        if (side == -1) at_low *= 0.5;
        side = -1;
      }
    }
  }
  out.turning = turning;
  double before = signed_power(bounds[0] - turning, slow + 2.0), sum = 0.0;
  for (std::size_t i = 0; i < layers; ++i) {
    const double after = signed_power(bounds[i + 1] - turning, slow + 2.0);
    out.dissipated[i] = fluidity[i] * (after - before) / (slow + 2.0);
    sum += out.dissipated[i];
    before = after;
  }
  for (double& share : out.dissipated) share /= sum;
  out.conductance = sum * std::pow(law.consistency_Pa_sn, -slow);
}

double Squeeze::force_N(double speed) const {
  const double n = exponent;
  return std::numbers::pi / (n + 3.0) * std::pow(radius_m, n + 3.0) *
         std::pow(speed / (2.0 * conductance * std::pow(gap_m, 2.0 + 1.0 / n)), n);
}

double Squeeze::speed_m_per_s(double force) const {
  const double n = exponent;
  return 2.0 * conductance * std::pow(gap_m, 2.0 + 1.0 / n) *
         std::pow((n + 3.0) * force / (std::numbers::pi * std::pow(radius_m, n + 3.0)), 1.0 / n);
}

double Closing::full_gap_m() const {
  return volume_m3 / (std::numbers::pi * full_radius_m * full_radius_m);
}

double Closing::radius_at(double gap_m) const {
  return std::min(full_radius_m, std::sqrt(volume_m3 / (std::numbers::pi * gap_m)));
}

double Closing::speed_at(double gap_m) const {
  if (gap_m <= stop_m || conductance <= 0.0) return 0.0;
  const Squeeze squeeze{exponent, conductance, gap_m, radius_at(gap_m)};
  return std::min(speed_m_per_s, squeeze.speed_m_per_s(force_N));
}

double Closing::force_at(double gap_m) const {
  if (gap_m <= stop_m || conductance <= 0.0) return 0.0;
  const Squeeze squeeze{exponent, conductance, gap_m, radius_at(gap_m)};
  return std::min(force_N, squeeze.force_N(speed_m_per_s));
}

Closing::Moved Closing::close(double gap_m, double time_s) const {
  Moved moved{.gap_m = gap_m, .work_J = 0.0};
  const double n = exponent, full = full_gap_m();
  double left_s = time_s;
  while (left_s > 0.0 && moved.gap_m > stop_m && conductance > 0.0) {
    const double h = moved.gap_m;
    const bool spreading = h > full * (1.0 + 1e-12);
    const double target = std::max(stop_m, spreading ? full : 0.0);
    // Under the full force -dh/dt = c h^q.
    const double q = spreading ? 2.0 + 1.0 / n + (n + 3.0) / (2.0 * n) : 2.0 + 1.0 / n;
    const Squeeze squeeze{n, conductance, h, radius_at(h)};
    const double by_force = squeeze.speed_m_per_s(force_N);
    if (by_force > speed_m_per_s * (1.0 + 1e-9)) {  // speed rules, down to where the force does
      const double crossing = h * std::pow(speed_m_per_s / by_force, 1.0 / q);
      const double end = std::max(target, crossing);
      const double travel = std::min(h - end, speed_m_per_s * left_s);
      const double to = travel >= h - end ? end : h - travel;
      left_s -= std::max((h - to) / speed_m_per_s, 1e-15);
      // F h^(qn) is constant at constant speed: F(h) = F0 (h0/h)^(qn).
      const double p = q * n, force = squeeze.force_N(speed_m_per_s);
      moved.work_J += std::abs(p - 1.0) < 1e-9
                          ? force * h * std::log(h / to)
                          : force * h / (p - 1.0) * std::expm1((p - 1.0) * std::log(h / to));
      moved.gap_m = to;
      continue;
    }
    // (h1/h)^(1-q) = 1 + (q-1) c h^(q-1) t
    const double rate = by_force / h;
    const double reach = h * std::pow(1.0 + (q - 1.0) * rate * left_s, -1.0 / (q - 1.0));
    if (reach >= target) {
      moved.work_J += force_N * (h - reach);
      moved.gap_m = reach;
      return moved;
    }
    const double took = std::expm1((q - 1.0) * std::log(h / target)) / ((q - 1.0) * rate);
    moved.work_J += force_N * (h - target);
    moved.gap_m = target;
    left_s -= took;
  }
  return moved;
}

}  // namespace goodside::press
