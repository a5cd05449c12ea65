#pragma once
#include <optional>
#include <string>

namespace goodside::works {

/// What a works lets out of the door, for one format. An absent limit is not judged.
/// Defaults by format live in intake/limits; a works overrides them in a TOML file.
struct Limits {
  std::string name{"default"};
  std::optional<int> plain_faults_per_side;     ///< plainly audible faults
  std::optional<double> slight_faults_per_min;  ///< slightly audible faults, a minute heard
  std::optional<int> worst_pattern_faults;      ///< faults in one radial or arc pattern
  std::optional<bool> jumps_allowed;            ///< skips, repeats, locked groove
  std::optional<double> loudest_fault_dB;  ///< peak_dB, relative to full scale of the reference
  std::optional<double> eccentricity_m;
  std::optional<double> speed_error;  ///< fraction, of the drive-corrected or the measured speed
  std::optional<double> once_per_rev_peak;  ///< fraction
  std::optional<double> weighted_2sigma;    ///< fraction
  std::optional<double> weighted_noise_dB;  ///< re the reference level stated in the report
  std::optional<double> rumble_dB, hum_dB;
  std::optional<double> echo_dB;
  std::optional<double> balance_dB;          ///< absolute value
  std::optional<double> level_deviation_dB;  ///< worst third octave, 250 Hz to 9 kHz
};

}  // namespace goodside::works
