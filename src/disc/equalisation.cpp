#include "disc/equalisation.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <string>

#include "base/expects.hpp"

namespace goodside::disc {
namespace {

constexpr std::array all_curves{
    Curve{"iec-60098", 3180e-6, 318e-6, 75e-6, 0.0},
    Curve{"iec-60098-amended", 3180e-6, 318e-6, 75e-6, 7950e-6},
    Curve{"bs-1928-coarse", 3180e-6, 450e-6, 50e-6, 0.0},
    Curve{"coarse-250", 3180e-6, 636e-6, 0.0, 0.0},
    Curve{"nab-1942", 0.0, 318e-6, 100e-6, 0.0},
    Curve{"aes-1951", 0.0, 398e-6, 63.7e-6, 0.0},
    Curve{"coarse-wide", 0.0, 636e-6, 25e-6, 0.0},
    Curve{"microgroove-100", 1590e-6, 318e-6, 100e-6, 0.0},
    Curve{"flat", 0.0, 0.0, 0.0, 0.0},
};

double magnitude_dB(const Curve& curve, double frequency_Hz) {
  const std::complex<double> s{0.0, 2.0 * std::numbers::pi * frequency_Hz};
  std::complex<double> response = (1.0 + s * curve.turnover_s) / (1.0 + s * curve.treble_s);
  if (curve.bass_s > 0.0)
    response /= 1.0 + s * curve.bass_s;
  else if (curve.turnover_s > 0.0)
    response /= s;
  if (curve.rumble_s > 0.0) response *= s * curve.rumble_s / (1.0 + s * curve.rumble_s);
  return 20.0 * std::log10(std::abs(response));
}

}  // namespace

std::span<const Curve> curves() {
  return all_curves;
}

Result<Curve> curve(std::string_view name) {
  std::string names;
  for (const Curve& candidate : all_curves) {
    if (candidate.name == name) return candidate;
    names += fmt::format(" {}", candidate.name);
  }
  return Error{Fault::not_found,
               fmt::format("playback curve '{}' is not known; use one of{}", name, names)};
}

double playback_gain_dB(const Curve& curve, double frequency_Hz) {
  EXPECTS(frequency_Hz > 0.0);
  return magnitude_dB(curve, frequency_Hz) - magnitude_dB(curve, 1000.0);
}

}  // namespace goodside::disc
