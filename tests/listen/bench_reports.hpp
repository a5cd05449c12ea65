#pragma once
#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>
#include <string>

#include "works/listening_report.hpp"

namespace goodside::listen::test {

/// The same draws with every library.
class Draws {
 public:
  explicit Draws(std::uint64_t seed) : engine_{seed} {}
  /// In (0, 1).
  double uniform() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1p-53; }
  bool chance(double probability) { return uniform() < probability; }
  double normal() {
    return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * std::numbers::pi * uniform());
  }

 private:
  std::mt19937_64 engine_;
};

/// A report of a whole side of 20 min with nothing wrong.
inline works::ListeningReport clean_play(const std::string& path) {
  works::ListeningReport report;
  report.capture.path = path;
  report.reference.emplace();
  report.reference->file.path = "cut.wav";
  report.reference->file.sha256 = "c0ffee";
  report.geometry = {.format = "12in-33",
                     .rpm = 100.0 / 3.0,
                     .outer_radius_m = 0.146,
                     .inner_radius_m = 0.066,
                     .pitch_m = 1.2e-4};
  report.heard = {{0.0, 1200.0}};
  report.alignment.emplace();
  report.alignment->found = true;
  report.alignment->programme_sigma_s = 1e-4;
  report.wow.eccentricity_m = 50e-6;
  report.wow.eccentricity_sigma_m = 2e-6;
  report.wow.eccentricity_direction_deg = 30.0;
  report.noise.weighted_dB = -60.0;
  return report;
}

inline void add_fault(works::ListeningReport& play,
                      double programme_s,
                      works::Audibility audibility = works::Audibility::plain) {
  works::FaultEvent fault;
  fault.id = static_cast<int>(play.faults.size()) + 1;
  fault.kind = works::FaultKind::tick;
  fault.programme_s = programme_s;
  fault.capture_s = programme_s + 3.0;
  fault.duration_s = 1e-3;
  fault.peak_dB = -20.0;
  fault.excess_dB = 20.0;
  fault.audibility = audibility;
  play.faults.push_back(fault);
}

}  // namespace goodside::listen::test
