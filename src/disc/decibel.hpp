#pragma once
#include <cmath>

namespace goodside::disc {

/// The amplitude that a level stands for: 10^(level_dB / 20).
inline double amplitude(double level_dB) {
  return std::pow(10.0, level_dB / 20.0);
}

}  // namespace goodside::disc
