#pragma once
#include <cmath>
#include <complex>
#include <cstdint>
#include <functional>
#include <limits>
#include <numbers>
#include <random>
#include <vector>

#include "listen/time_track.hpp"
#include "works/side.hpp"

namespace goodside::listen::testing {

using std::numbers::pi;

/// Normal deviates that are the same in every standard library.
class Normal {
 public:
  explicit Normal(std::uint64_t seed) : engine_{seed} {}
  double uniform() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1p-53; }
  double operator()() {
    return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * pi * uniform());
  }

 private:
  std::mt19937_64 engine_;
};

/// How a side is played in these tests. Nothing here uses the formulas under test: the stylus is
/// found as the point of the groove that lies on the arm's arc (or on a fixed radius), the groove
/// turned with the table.
struct Played {
  works::Arm arm;
  double rpm{100.0 / 3.0};
  double cut_rate{0.0};  ///< the cut's true turn rate over the nominal one, less 1
  double speed_error{0.0};
  double outer_radius_m{0.1463}, pitch_m{120e-6};
  double programme_from_s{0.0}, length_s{80.0};
  double offset_m{0.0}, direction_rad{0.0};
  double oval_m{0.0}, oval_rad{0.0};  ///< second harmonic of an inextensible groove
  double wander_rms{2e-4};            ///< of dv/v: 1/f from 0.05 to 20 Hz
  double drive_wow{0.0}, drive_wow_phase_rad{0.0};
  double flutter{1e-4}, flutter_Hz{8.3};
  double noise_s{0.4e-6};  ///< of each point
  std::uint64_t seed{1};

  [[nodiscard]] double radius_m(double programme_s) const {
    return outer_radius_m - pitch_m * programme_s * rpm * (1.0 + cut_rate) / 60.0;
  }
};

/// 1/f noise of standard deviation 1 from octaves of first-order noise.
class Pink {
 public:
  Pink(double hop_s, Normal& normal) : normal_{&normal} {
    for (int octave = 0; octave < 9; ++octave) {
      const double corner_Hz = std::ldexp(0.05, octave);
      memory_.push_back(std::exp(-2.0 * pi * corner_Hz * hop_s));
      state_.push_back(normal());
    }
  }
  double operator()() {
    double sum = 0.0;
    for (std::size_t i = 0; i < state_.size(); ++i) {
      state_[i] = memory_[i] * state_[i] + std::sqrt(1.0 - memory_[i] * memory_[i]) * (*normal_)();
      sum += state_[i];
    }
    return sum / std::sqrt(static_cast<double>(state_.size()));
  }

 private:
  std::vector<double> memory_, state_;
  Normal* normal_;
};

struct PlayedTrack {
  TimeTrack track;
  std::vector<double> true_programme_s;
};

inline PlayedTrack play(const Played& how) {
  using Complex = std::complex<double>;
  constexpr double hop_s = 0.02;
  const double turning = 2.0 * pi * how.rpm * (1.0 + how.cut_rate) / 60.0;
  const Complex centre = std::polar(how.offset_m, how.direction_rad);
  const double distance_m = how.arm.mounting_distance_m, length_m = how.arm.effective_length_m;
  const auto groove = [&](double angle_rad) {
    const double round_m = how.radius_m(angle_rad / turning);
    const double twice_rad = 2.0 * (angle_rad - how.oval_rad);
    return std::polar(round_m + how.oval_m * std::cos(twice_rad),
                      angle_rad - 0.5 * how.oval_m / round_m * std::sin(twice_rad)) +
           centre;
  };
  const auto off_arc = [&](Complex stylus) {
    return how.arm.known() ? std::abs(stylus - distance_m) - length_m : std::arg(stylus);
  };
  // The pivot lies on the real axis, the stylus clockwise of it; the table's angle runs clockwise.
  double angle_rad = turning * how.programme_from_s;
  const Complex first = groove(angle_rad);
  const double rho_m = std::abs(first);
  const double beta_rad =
      how.arm.known() ? std::acos((rho_m * rho_m + distance_m * distance_m - length_m * length_m) /
                                  (2.0 * rho_m * distance_m))
                      : 0.0;
  double table_rad = std::arg(first) + beta_rad;

  Normal normal{how.seed};
  Pink pink{hop_s, normal};
  const auto n = static_cast<std::size_t>(how.length_s / hop_s) + 1;
  PlayedTrack played;
  Stretch stretch{1.25, hop_s, std::vector<double>(n), std::vector<double>(n, how.noise_s)};
  for (std::size_t k = 0; k < n; ++k) {
    // Newton on the groove angle that lies on the arc at this turn of the table.
    for (int pass = 0; pass < 6; ++pass) {
      const Complex turned = std::polar(1.0, -table_rad);
      const double step_rad = 1e-7;
      const double miss = off_arc(groove(angle_rad) * turned);
      const double ahead = off_arc(groove(angle_rad + step_rad) * turned);
      const double change_rad = miss * step_rad / (ahead - miss);
      angle_rad -= change_rad;
      if (std::abs(change_rad) < 1e-12) break;
    }
    played.true_programme_s.push_back(angle_rad / turning);
    stretch.programme_s[k] = angle_rad / turning + how.noise_s * normal();
    const double time_s = static_cast<double>(k) * hop_s;
    const double deviation = how.wander_rms * pink() +
                             how.drive_wow * std::cos(angle_rad - how.drive_wow_phase_rad) +
                             how.flutter * std::cos(2.0 * pi * how.flutter_Hz * time_s);
    table_rad += turning * (1.0 + how.speed_error) * (1.0 + deviation) * hop_s;
  }
  played.track.push_back(std::move(stretch));
  return played;
}

/// The part of a track from `from_s` on and before `to_s` of capture time, as a stretch of its own.
inline Stretch part_of(const Stretch& whole, double from_s, double to_s) {
  Stretch part{0.0, whole.hop_s, {}, {}};
  for (std::size_t k = 0; k < whole.programme_s.size(); ++k) {
    const double time_s = whole.capture_from_s + static_cast<double>(k) * whole.hop_s;
    if (time_s < from_s || time_s >= to_s) continue;
    if (part.programme_s.empty()) part.capture_from_s = time_s;
    part.programme_s.push_back(whole.programme_s[k]);
    part.sigma_s.push_back(whole.sigma_s[k]);
  }
  return part;
}

}  // namespace goodside::listen::testing
