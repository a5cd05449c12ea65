#include "disc/platter.hpp"

#include <cmath>
#include <numbers>

#include "stats/draw.hpp"

namespace goodside::disc {
namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr int wander_lines = 40;
constexpr double wander_low_Hz = 0.03;
constexpr double wander_high_Hz = 1.5;

}  // namespace

Platter::Platter(double rpm, const works::Drive& drive, std::uint64_t seed)
    : omega_rad_per_s_{tau * rpm / 60.0}, speed_error_{drive.speed_error} {
  const auto add = [this](const works::SpeedLine& line) {
    const double phase_rad = line.phase_deg * tau / 360.0;
    lines_.push_back({tau * line.frequency_Hz, line.peak, phase_rad, std::sin(phase_rad)});
  };
  for (const works::SpeedLine& line : drive.lines) add(line);
  if (drive.wander_rms <= 0.0) return;
  stats::Draw draw{seed, 101};
  const double peak = drive.wander_rms * std::sqrt(2.0 / wander_lines);
  for (int k = 0; k < wander_lines; ++k) {
    const double part = (k + draw.uniform()) / wander_lines;
    const double frequency_Hz = wander_low_Hz * std::pow(wander_high_Hz / wander_low_Hz, part);
    add({.frequency_Hz = frequency_Hz, .peak = peak, .phase_deg = 360.0 * draw.uniform()});
  }
}

double Platter::angle_rad(double time_s) const {
  double turned_s = (1.0 + speed_error_) * time_s;
  for (const Line& line : lines_)
    turned_s += line.peak / line.angular_frequency *
                (std::sin(line.angular_frequency * time_s + line.phase) - line.sine_at_zero);
  return omega_rad_per_s_ * turned_s;
}

double Platter::rate_rad_per_s(double time_s) const {
  double rate = 1.0 + speed_error_;
  for (const Line& line : lines_)
    rate += line.peak * std::cos(line.angular_frequency * time_s + line.phase);
  return omega_rad_per_s_ * rate;
}

double Platter::time_s(double angle) const {
  double time = angle / (omega_rad_per_s_ * (1.0 + speed_error_));
  for (int step = 0; step < 8; ++step) time -= (angle_rad(time) - angle) / rate_rad_per_s(time);
  return time;
}

}  // namespace goodside::disc
