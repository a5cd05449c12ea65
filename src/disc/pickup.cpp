#include "disc/pickup.hpp"

#include <cmath>
#include <numbers>

#include "disc/decibel.hpp"

namespace goodside::disc {
namespace {

constexpr double leak_corner_Hz = 6000.0;
constexpr double highest_share_of_rate = 0.45;

}  // namespace

Pickup::Pickup(const works::Cartridge& cartridge, double rate_Hz)
    : cartridge_{cartridge},
      stylus_rings_{cartridge.resonance_Hz > 0.0 &&
                    cartridge.resonance_Hz < highest_share_of_rate * rate_Hz},
      arm_rings_{cartridge.arm_resonance_Hz > 0.0},
      leak_keep_{std::exp(-2.0 * std::numbers::pi * leak_corner_Hz / rate_Hz)},
      gain_left_{amplitude(-cartridge.balance_dB / 2.0)},
      gain_right_{amplitude(cartridge.balance_dB / 2.0)} {
  if (stylus_rings_)
    stylus_.fill(low_pass({cartridge.resonance_Hz, cartridge.resonance_quality}, rate_Hz));
  if (arm_rings_)
    arm_.fill(high_pass({cartridge.arm_resonance_Hz, cartridge.arm_quality}, rate_Hz));
  if (cartridge.crosstalk_dB) leak_ = amplitude(*cartridge.crosstalk_dB);
}

void Pickup::pass(double& left, double& right) {
  // The other channel leaks, and what of it lies over the corner leaks twice.
  slow_left_ = leak_keep_ * slow_left_ + (1.0 - leak_keep_) * left;
  slow_right_ = leak_keep_ * slow_right_ + (1.0 - leak_keep_) * right;
  const double to_right = leak_ * (2.0 * left - slow_left_);
  const double to_left = leak_ * (2.0 * right - slow_right_);
  left = gain_left_ * (left + to_left);
  right = gain_right_ * (right + to_right);
  if (stylus_rings_) {
    left = stylus_[0](left);
    right = stylus_[1](right);
  }
  if (arm_rings_) {
    left = arm_[0](left);
    right = arm_[1](right);
  }
}

double Pickup::arm_gain(double frequency_Hz) const {
  if (!arm_rings_) return 1.0;
  const double x = frequency_Hz / cartridge_.arm_resonance_Hz;
  return x * x / std::hypot(1.0 - x * x, x / cartridge_.arm_quality);
}

}  // namespace goodside::disc
