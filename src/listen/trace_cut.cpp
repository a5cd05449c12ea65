#include "listen/trace_cut.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <span>

#include "disc/equalisation.hpp"
#include "signal/clones.hpp"

namespace goodside::listen {
namespace {

constexpr double ball_radius_m = 15e-6;  // common practice
constexpr int steps = 3;                 // of the fixed point
constexpr std::size_t reach = 16;        // samples that a wall may be heard early or late by
constexpr double cell_s = 10e-3;

/// `lead`: samples a unit of velocity, `slope`: of the wall for a unit of velocity. `wall` has `reach` + 3 samples of
/// padding at both ends.
GOODSIDE_CLONES void read_along(
    const float* wall, const float* heard, float* out, std::size_t count, float lead, float slope) {
  constexpr auto pad = static_cast<float>(reach);
#pragma omp simd
  for (std::size_t j = 0; j < count; ++j) {
    const float s = slope * heard[j];
    const float shift = lead * heard[j] / std::sqrt(1.0F + s * s);
    const float place = std::min(pad - 1.0F, std::max(-pad + 1.0F, shift)) + pad;  // NaN too
    const auto whole = static_cast<std::int32_t>(place);
    const float u = place - static_cast<float>(whole);
    const float* x = wall + j + static_cast<std::size_t>(whole);
    const float a = u + 2.0F, b = u + 1.0F, d = u - 1.0F, e = u - 2.0F, f = u - 3.0F;
    const float de = d * e, ab = a * b, uf = u * f;
    out[j] = x[1] * (b * uf * de) * (-1.0F / 120.0F) + x[2] * (a * uf * de) * (1.0F / 24.0F) +
             x[3] * (ab * de * f) * (-1.0F / 12.0F) + x[4] * (ab * uf * e) * (1.0F / 12.0F) +
             x[5] * (ab * uf * d) * (-1.0F / 24.0F) + x[6] * (ab * u * de) * (1.0F / 120.0F);
  }
}

}  // namespace

disc::Emphasis recording_curve(double rate_Hz) {
  const disc::Curve cut = *disc::curve("iec-60098");
  return disc::emphasis({cut.bass_s, cut.turnover_s, cut.treble_s}, rate_Hz);
}

double Stylus::speed_m_per_s(double programme_s) const {
  return 2.0 * std::numbers::pi * rpm / 60.0 * radius_m(programme_s);
}

void trace_cut(StereoSamples& cut,
               const Tracing& tracing,
               BendEnergy& bend,
               StereoSamples& storage) {
  constexpr std::size_t pad = reach + 3;
  const double lead =
      tracing.strength_m2 / (tracing.speed_m_per_s * tracing.speed_m_per_s) * tracing.rate_Hz;
  const double slope = std::abs(tracing.strength_m2) / ball_radius_m / tracing.speed_m_per_s;
  const disc::Emphasis emphasis = recording_curve(tracing.rate_Hz);
  auto& [wall, other] = storage;
  for (std::size_t i = 0; i < 2; ++i) {
    auto& heard = cut[i];
    const std::size_t count = heard.size();
    wall.assign(count + 2 * pad, 0.0F);
    other.resize(count);
    disc::Biquad cutting = emphasis.cutting;
    for (std::size_t j = 0; j < count; ++j)
      wall[pad + j] = heard[j] = static_cast<float>(cutting(static_cast<double>(heard[j])));
    const auto signed_lead = static_cast<float>(i == 0 ? -lead : lead);
    for (int step = 0; step < steps; ++step) {
      read_along(
          wall.data(), heard.data(), other.data(), count, signed_lead, static_cast<float>(slope));
      std::swap(heard, other);
    }
    for (std::size_t j = 0; j < count; ++j) other[j] -= heard[j];
    bend[i].clear();
    add_bend(other, bend[i]);
    disc::Biquad playing = emphasis.playing;
    for (float& sample : heard) sample = static_cast<float>(playing(static_cast<double>(sample)));
  }
}

void StrengthFit::add(const StereoSamples& residual, const StereoSamples& change, double rate_Hz) {
  const auto width = static_cast<std::size_t>(cell_s * rate_Hz);
  const std::size_t cells = residual[0].size() / width;
  for (std::size_t c = 0; c < cells; ++c) {
    double left = 0.0, along = 0.0, self = 0.0;
    for (std::size_t i = 0; i < 2; ++i)
      for (std::size_t j = std::max<std::size_t>(1, c * width); j < (c + 1) * width; ++j) {
        // The first difference leaves rumble and hum out.
        const auto r = static_cast<double>(residual[i][j] - residual[i][j - 1]);
        const auto g = static_cast<double>(change[i][j] - change[i][j - 1]);
        left += r * r;
        along += r * g;
        self += g * g;
      }
    const double doubt = left + doubt_m2_ * doubt_m2_ * self;
    if (!(doubt > 0.0)) continue;
    cross_ += along / doubt;
    self_ += self / doubt;
    energy_ += left / doubt;
  }
}

void StrengthFit::merge(const StrengthFit& other) {
  cross_ += other.cross_;
  self_ += other.self_;
  energy_ += other.energy_;
}

}  // namespace goodside::listen
