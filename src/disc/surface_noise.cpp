#include "disc/surface_noise.hpp"

#include <cmath>
#include <numbers>

#include "disc/decibel.hpp"

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double noise_band_Hz = 20000.0;
constexpr double low_corner_Hz = 300.0;
constexpr double crackle_corner_Hz = 7000.0;
constexpr double running_s = 1.5e-3;
constexpr double rumble_corner_Hz = 40.0;
const double rumble_lateral = std::sqrt(0.1);
const double rumble_vertical = std::sqrt(0.9);

}  // namespace

works::Surface vinyl_surface() {
  works::Surface surface;
  surface.crackle_per_s = 0.4;
  surface.crackle_dB = -56.0;
  return surface;
}

works::Surface shellac_surface() {
  works::Surface surface;
  surface.noise_dB = -41.0;
  surface.low_share = 0.4;
  surface.once_per_turn = 0.25;
  surface.modulation_noise_dB = -38.0;
  surface.crackle_per_s = 60.0;
  surface.crackle_dB = -39.0;
  surface.rumble_dB = -48.0;
  return surface;
}

SurfaceNoise::SurfaceNoise(const works::Surface& surface, double rate_Hz, std::uint64_t seed)
    : surface_{surface}, draw_{seed, 202} {
  // White noise keeps its density in the audible band whatever the rate.
  const double density = std::sqrt(rate_Hz / 2.0 / noise_band_Hz);
  level_ = amplitude(surface.noise_dB);
  white_ = std::sqrt(1.0 - surface.low_share) * density;
  low_keep_ = std::exp(-tau * low_corner_Hz / rate_Hz);
  low_ = std::sqrt(surface.low_share * (1.0 - low_keep_ * low_keep_));
  modulation_ = amplitude(surface.modulation_noise_dB) * density;
  power_keep_ = std::exp(-1.0 / (running_s * rate_Hz));
  loud_angle_rad_ = tau * draw_.uniform();
  crackle_chance_ = surface.crackle_per_s / rate_Hz;
  crackle_keep_ = std::exp(-tau * crackle_corner_Hz / rate_Hz);
  crackle_level_ = amplitude(surface.crackle_dB);
  rumble_filters_.fill(low_pass({rumble_corner_Hz, std::numbers::sqrt2 / 2.0}, rate_Hz));
  // Noise bandwidth of the two low-passes in a row: the integral of (1 + x^4)^-2, 3 pi sqrt(2) /
  // 16, corners wide.
  const double bandwidth_Hz =
      3.0 * std::numbers::pi * std::numbers::sqrt2 / 16.0 * rumble_corner_Hz;
  rumble_ = amplitude(surface.rumble_dB) / std::sqrt(bandwidth_Hz / (rate_Hz / 2.0));
}

double SurfaceNoise::groove_noise(Wall& wall, double programme, double turn) {
  wall.low = low_keep_ * wall.low + low_ * draw_.normal();
  wall.power += (1.0 - power_keep_) * (programme * programme - wall.power);
  double noise = level_ * turn * (white_ * draw_.normal() + wall.low);
  noise += modulation_ * std::sqrt(wall.power) * draw_.normal();
  if (crackle_chance_ <= 0.0) return noise;
  wall.crackle *= crackle_keep_;
  if (draw_.uniform() < crackle_chance_) {
    const double sign = draw_.uniform() < 0.5 ? -1.0 : 1.0;
    wall.crackle += sign * crackle_level_ * draw_.exponential();
  }
  return noise + wall.crackle;
}

SurfaceNoise::Pair SurfaceNoise::next(double groove_angle_rad, const Pair& programme) {
  const double turn = 1.0 + surface_.once_per_turn * std::cos(groove_angle_rad - loud_angle_rad_);
  const double left = groove_noise(left_, programme.left, turn);
  const double right = groove_noise(right_, programme.right, turn);
  const double lateral = rumble_lateral * rumble_filters_[1](rumble_filters_[0](draw_.normal()));
  const double vertical = rumble_vertical * rumble_filters_[3](rumble_filters_[2](draw_.normal()));
  return {left + rumble_ * (lateral + vertical), right + rumble_ * (lateral - vertical)};
}

}  // namespace goodside::disc
