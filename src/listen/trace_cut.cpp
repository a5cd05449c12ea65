#include "listen/trace_cut.hpp"

#include <algorithm>
#include <array>
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
constexpr double ultrasonic_Hz = 24000.0;  // left out of what is left

/// `lead`: samples a unit of velocity, `slope`: of the wall for a unit of velocity.
struct Lean {
  float lead, slope;
};

/// How far along the wall what is heard at each sample stands from it [samples], and the farthest of them.
GOODSIDE_CLONES float stand_off(const float* heard, float* out, std::size_t count, Lean lean) {
  constexpr auto most = static_cast<float>(reach - 1);
  float farthest = 0.0F;
#pragma omp simd reduction(max : farthest)
  for (std::size_t j = 0; j < count; ++j) {
    const float s = lean.slope * heard[j];
    const float shift = lean.lead * heard[j] / std::sqrt(1.0F + s * s);
    out[j] = std::min(most, std::max(-most, shift));  // NaN too
    farthest = std::max(farthest, std::abs(out[j]));
  }
  return farthest;
}

/// The wall no further than a sample from each place, by Lagrange's seven-point formula: no sample is looked up.
GOODSIDE_CLONES void read_near(const float* wall,
                               const float* shift,
                               float* out,
                               std::size_t count) {
#pragma omp simd
  for (std::size_t j = 0; j < count; ++j) {
    const float* x = wall + j;
    const float u = shift[j];
    const float u2 = u * u, p1 = u2 - 1.0F, p2 = u2 - 4.0F, p3 = u2 - 9.0F;
    const float pair12 = p1 * p2, pair13 = p1 * p3, pair23 = p2 * p3;
    out[j] = x[0] * (pair12 * p3) * (-1.0F / 36.0F) +
             u * (((u + 1.0F) * x[1] + (u - 1.0F) * x[-1]) * pair23 * (1.0F / 48.0F) -
                  ((u + 2.0F) * x[2] + (u - 2.0F) * x[-2]) * pair13 * (1.0F / 120.0F) +
                  ((u + 3.0F) * x[3] + (u - 3.0F) * x[-3]) * pair12 * (1.0F / 720.0F));
  }
}

/// The wall at any place, by Lagrange's six-point formula. `wall` has `reach` + 2 samples before it and after.
GOODSIDE_CLONES void read_far(const float* wall,
                              const float* shift,
                              float* out,
                              std::size_t count) {
  constexpr auto pad = static_cast<float>(reach);
  const float* first = wall - reach - 2;
#pragma omp simd
  for (std::size_t j = 0; j < count; ++j) {
    const float place = shift[j] + pad;
    const auto whole = static_cast<std::int32_t>(place);
    const float u = place - static_cast<float>(whole);
    const float* x = first + j + static_cast<std::size_t>(whole);
    const float a = u + 2.0F, b = u + 1.0F, d = u - 1.0F, e = u - 2.0F, f = u - 3.0F;
    const float de = d * e, ab = a * b, uf = u * f;
    out[j] = x[0] * (b * uf * de) * (-1.0F / 120.0F) + x[1] * (a * uf * de) * (1.0F / 24.0F) +
             x[2] * (ab * de * f) * (-1.0F / 12.0F) + x[3] * (ab * uf * e) * (1.0F / 12.0F) +
             x[4] * (ab * uf * d) * (-1.0F / 24.0F) + x[5] * (ab * u * de) * (1.0F / 120.0F);
  }
}

/// `wall` has `reach` + 3 samples before it and after.
void read_along(const float* wall, const float* heard, float* out, std::size_t count, Lean lean) {
  constexpr std::size_t block = 256;
  std::array<float, block> shift;
  for (std::size_t at = 0; at < count; at += block) {
    const std::size_t width = std::min(block, count - at);
    const float farthest = stand_off(heard + at, shift.data(), width, lean);
    const auto read = farthest <= 1.0F ? read_near : read_far;
    read(wall + at, shift.data(), out + at, width);
  }
}

/// Both channels in step: one waits for its own last sample alone.
void run_both(const disc::Biquad& filter, StereoSamples& samples) {
  disc::Biquad left = filter;
  disc::Biquad right = filter;
  for (std::size_t j = 0; j < samples[0].size(); ++j) {
    samples[0][j] = static_cast<float>(left(static_cast<double>(samples[0][j])));
    samples[1][j] = static_cast<float>(right(static_cast<double>(samples[1][j])));
  }
}

}  // namespace

disc::Emphasis recording_curve(double rate_Hz) {
  const disc::Curve cut = *disc::curve("iec-60098");
  return disc::emphasis({cut.bass_s, cut.turnover_s, cut.treble_s}, rate_Hz);
}

double GrooveReading::speed_m_per_s(double programme_s) const {
  return 2.0 * std::numbers::pi * rpm / 60.0 * radius_m(programme_s);
}

void limit_cut(StereoSamples& cut, double limiting, BendEnergy& bend, StereoSamples& storage) {
  const auto curvature = static_cast<float>(limiting);
  for (std::size_t i = 0; i < 2; ++i) {
    storage[i].resize(cut[i].size());
    for (std::size_t j = 0; j < cut[i].size(); ++j) {
      const float x = cut[i][j];
      cut[i][j] = x / std::sqrt(1.0F + curvature * x * x);
      storage[i][j] = x - cut[i][j];
    }
    add_bend(storage[i], groove_oversampling, bend[i]);
  }
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
  run_both(emphasis.cutting, cut);
  auto& [wall, other] = storage;
  for (std::size_t i = 0; i < 2; ++i) {
    auto& heard = cut[i];
    const std::size_t count = heard.size();
    wall.assign(count + 2 * pad, 0.0F);
    std::ranges::copy(heard, wall.begin() + pad);
    other.resize(count);
    const Lean lean{static_cast<float>(i == 0 ? -lead : lead), static_cast<float>(slope)};
    for (int step = 0; step < steps; ++step) {
      read_along(wall.data() + pad, heard.data(), other.data(), count, lean);
      std::swap(heard, other);
    }
    for (std::size_t j = 0; j < count; ++j) other[j] -= heard[j];
    add_bend(other, groove_oversampling, bend[i]);
  }
  run_both(emphasis.playing, cut);
}

void Leftover::add(const StereoSamples& residual, double rate_Hz) {
  const auto width = static_cast<std::size_t>(cell_s * rate_Hz);
  const auto box = static_cast<std::size_t>(std::max(1.0, std::floor(rate_Hz / ultrasonic_Hz)));
  for (std::size_t c = 0; c < residual[0].size() / width; ++c) {
    double left = 0.0;
    for (const auto& channel : residual) {
      const std::size_t first = std::max(2 * box, c * width);
      float newer = 0.0F;  // the last `box` samples, and those before
      float older = 0.0F;
      for (std::size_t j = first - 2 * box; j < first; ++j)
        (j + box < first ? older : newer) += channel[j];
      for (std::size_t j = first; j < (c + 1) * width; ++j) {
        newer += channel[j] - channel[j - box];
        older += channel[j - box] - channel[j - 2 * box];
        const auto step = static_cast<double>(newer - older);
        left += step * step;
      }
    }
    if (!(left > 0.0)) continue;
    log_energy += std::log(left);
    cells += 1.0;
  }
}

void Leftover::merge(const Leftover& other) {
  log_energy += other.log_energy;
  cells += other.cells;
}

}  // namespace goodside::listen
