#pragma once
#include <array>
#include <cstdint>

#include "disc/filter.hpp"
#include "stats/draw.hpp"
#include "works/player.hpp"

namespace goodside::disc {

/// Usual noise of the two compounds: levels of the size met on real discs (common practice, no
/// source).
works::Surface vinyl_surface();
works::Surface shellac_surface();

/// The noise that the groove itself gives to both walls, frame by frame:
///   white and first-order low-passed white (300 Hz), their powers in the ratio asked, together
///   `noise_dB` rms over 20 kHz; times 1 + once_per_turn cos(angle - a), a fixed by the seed;
///   modulation noise: white times the running rms (1.5 ms) of the programme;
///   crackle: Poisson impulses of exponential amplitude, softened at 7 kHz;
///   rumble: white through two second-order low-passes at 40 Hz, nine tenths of its power vertical.
class SurfaceNoise {
 public:
  SurfaceNoise(const works::Surface& surface, double rate_Hz, std::uint64_t seed);

  struct Pair {
    double left{}, right{};
  };
  Pair next(double groove_angle_rad, const Pair& programme);

 private:
  struct Wall {
    double low{}, power{}, crackle{};
  };
  double groove_noise(Wall& wall, double programme, double turn);

  works::Surface surface_;
  stats::Draw draw_;
  double level_, white_, low_keep_, low_, modulation_, power_keep_, loud_angle_rad_;
  double crackle_chance_, crackle_keep_, crackle_level_;
  double rumble_;
  Wall left_, right_;
  std::array<Biquad, 4> rumble_filters_;
};

}  // namespace goodside::disc
