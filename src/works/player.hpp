#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include "works/fault_plan.hpp"
#include "works/side.hpp"

namespace goodside::works {

/// One steady line of speed deviation: deviation(t) = peak cos(2 pi frequency t + phase).
struct SpeedLine {
  double frequency_Hz{}, peak{}, phase_deg{};
};

/// How the platter turns and how the recorder counts time.
struct Drive {
  double speed_error{};          ///< constant part, fraction: 0.001 is 0.1 % fast
  double wander_rms{2e-4};       ///< slow random wander, fraction rms, 0.03 to 1.5 Hz
  std::vector<SpeedLine> lines;  ///< wow and flutter
  double clock_error_ppm{};      ///< sound card: true rate = nominal (1 + ppm 1e-6)
};

/// What the cartridge and its arm do to the groove's movement.
struct Cartridge {
  double resonance_Hz{19000.0}, resonance_quality{0.9};  ///< stylus on compound; 0 Hz: none
  double arm_resonance_Hz{9.5}, arm_quality{1.6};        ///< infrasonic high-pass; 0 Hz: none
  double balance_dB{};                                   ///< right minus left
  double right_lag_s{};                                  ///< right channel late (azimuth)
  std::optional<double> crosstalk_dB{-27.0};             ///< 6 dB more in the treble, from 6 kHz
  double stylus_radius_m{15e-6};                         ///< sphere; 0: no tracing distortion
  /// Velocity of one wall that a full-scale 1 kHz tone was cut with.
  double full_scale_velocity_m_per_s{0.10};
};

/// The groove's own noise, in dB relative to full scale of the programme.
struct Surface {
  double noise_dB{-66.0};                        ///< rms over 20 kHz
  double low_share{0.5};                         ///< share of its power under 300 Hz
  double once_per_turn{0.15};                    ///< its amplitude modulation over the angle
  double modulation_noise_dB{-52.0};             ///< relative to the programme at that moment
  double crackle_per_s{0.0}, crackle_dB{-40.0};  ///< small impulses: mean rate, mean peak
  double rumble_dB{-60.0};                       ///< rms, below 60 Hz, mostly vertical
};

struct Warp {
  double height_m{};  ///< amplitude at the edge, falling linearly to zero at the hole
  int lobes{2};       ///< waves a turn
  double direction_deg{};
  double pivot_height_m{0.02};  ///< of the arm's pivot above the disc
};

/// Everything that one play of one pressed side is made of. The offset points from the hole to the
/// groove's centre, in groove angle; an arm that is not known is an ideal radial tracker.
struct PlayedSide {
  CutSide side;
  double eccentricity_m{}, eccentricity_direction_deg{};
  Arm arm;
  Drive drive;
  Cartridge cartridge;
  Surface surface;
  Warp warp;
  double hum_Hz{50.0}, hum_dB{-78.0};
  std::optional<double> echo_lead_dB, echo_lag_dB;  ///< of the groove one turn ahead, one behind
  std::vector<FaultPlan> faults;
  std::optional<double> from_s, to_s;  ///< excerpt in programme time: no lead-in, no run-out
  double lead_in_s{3.0}, run_out_s{3.0};
  double sample_rate_Hz{96000.0};
  int channels{2};
  double level_dB{-6.0};  ///< full scale of the programme in the capture
  bool inverted{}, swapped{};
  std::uint64_t seed{1};
};

}  // namespace goodside::works
