#pragma once
#include <array>

#include "disc/filter.hpp"
#include "works/player.hpp"

namespace goodside::disc {

/// The cartridge from wall signals to its two outputs: crosstalk, resonance of the stylus on the
/// compound, resonance of arm and cartridge, balance. A stylus resonance over 0.45 of the rate is
/// left out.
class Pickup {
 public:
  Pickup(const works::Cartridge& cartridge, double rate_Hz);

  void pass(double& left, double& right);  ///< in place
  /// Gain of the arm's high-pass at a frequency far below the audible, where a warp works.
  [[nodiscard]] double arm_gain(double frequency_Hz) const;

 private:
  works::Cartridge cartridge_;
  bool stylus_rings_, arm_rings_;
  std::array<Biquad, 2> stylus_, arm_;
  double leak_{}, leak_keep_, slow_left_{}, slow_right_{}, gain_left_, gain_right_;
};

}  // namespace goodside::disc
