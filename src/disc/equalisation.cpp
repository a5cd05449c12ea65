#include "disc/equalisation.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <complex>
#include <numbers>
#include <string>
#include <vector>

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

constexpr double microsecond_s = 1e-6;

/// "3180/318/75" or "0/318/100/7950", in microseconds.
Result<Curve> by_time_constants(std::string_view text) {
  constexpr double longest_us = 1e5;
  const auto refuse = [&](std::string_view what) {
    return Error{
        Fault::bad_input,
        fmt::format("playback curve '{}': {}; write bass/turnover/treble in microseconds, 0 "
                    "for none: 3180/318/75",
                    text.substr(0, 60),
                    what)};
  };
  std::vector<double> times_us;
  for (const char *at = text.data(), *end = at + text.size();;) {
    double time_us = 0.0;
    const auto [rest, code] = std::from_chars(at, end, time_us);
    if (code != std::errc{} || (rest != end && *rest != '/'))
      return refuse("not numbers between strokes");
    if (!(time_us == 0.0 || (time_us >= 1.0 && time_us <= longest_us)))
      return refuse("each is 0 or from 1 to 100000");
    times_us.push_back(time_us);
    if (rest == end) break;
    at = rest + 1;
  }
  if (times_us.size() < 3 || times_us.size() > 4)
    return refuse("three time constants belong here, or four with that of a rumble filter");
  if (times_us.size() < 4) times_us.push_back(0.0);
  if (times_us[0] > 0.0 && times_us[0] <= times_us[1])
    return refuse("the bass is the longer, the turnover the shorter");
  if (times_us[0] > 0.0 && times_us[1] == 0.0) return refuse("a bass shelf needs a turnover");
  if (times_us[1] > 0.0 && times_us[1] <= times_us[2])
    return refuse("the turnover is the longer, the treble the shorter");
  return Curve{"by time constants",
               times_us[0] * microsecond_s,
               times_us[1] * microsecond_s,
               times_us[2] * microsecond_s,
               times_us[3] * microsecond_s};
}

}  // namespace

std::span<const Curve> curves() {
  return all_curves;
}

Result<Curve> curve(std::string_view name) {
  if (name.find('/') != std::string_view::npos) return by_time_constants(name);
  if (name == "riaa") name = "iec-60098";  // the same curve under the name of an older standard
  std::string names;
  for (const Curve& candidate : all_curves) {
    if (candidate.name == name) return candidate;
    names += fmt::format(" {}", candidate.name);
  }
  return Error{Fault::not_found,
               fmt::format("playback curve '{}' is not known; use one of{}, or time constants in "
                           "microseconds, bass/turnover/treble: 3180/318/75",
                           name.substr(0, 60),
                           names)};
}

bool is_flat(const Curve& curve) {
  return curve.bass_s == 0.0 && curve.turnover_s == 0.0 && curve.treble_s == 0.0 &&
         curve.rumble_s == 0.0;
}

std::string describe(const Curve& curve) {
  std::string times;
  for (const double time_s : {curve.bass_s, curve.turnover_s, curve.treble_s})
    times += fmt::format("{}{:g}", times.empty() ? "" : "/", time_s / microsecond_s);
  if (curve.rumble_s > 0.0) times += fmt::format("/{:g}", curve.rumble_s / microsecond_s);
  return fmt::format("{} ({} us)", curve.name, times);
}

double playback_gain_dB(const Curve& curve, double frequency_Hz) {
  EXPECTS(frequency_Hz > 0.0);
  return magnitude_dB(curve, frequency_Hz) - magnitude_dB(curve, 1000.0);
}

}  // namespace goodside::disc
