#include "disc/check_played_side.hpp"

#include <fmt/format.h>

#include <cmath>
#include <string_view>

namespace goodside::disc {
namespace {

struct Figure {
  std::string_view name;
  double value, low, high;
};

}  // namespace

Outcome check_played_side(const works::PlayedSide& played) {
  const works::Drive& drive = played.drive;
  const works::Cartridge& cartridge = played.cartridge;
  const works::Surface& surface = played.surface;
  const works::Warp& warp = played.warp;
  const Figure figures[] = {
      {"the capture's rate in Hz", played.sample_rate_Hz, 44100.0, 192000.0},
      {"the number of channels", static_cast<double>(played.channels), 1.0, 2.0},
      {"the hole offset's direction in degrees", played.eccentricity_direction_deg, -360.0, 360.0},
      {"the speed error", drive.speed_error, -0.2, 0.2},
      {"the wander", drive.wander_rms, 0.0, 0.02},
      {"the clock error in ppm", drive.clock_error_ppm, -1000.0, 1000.0},
      {"the stylus resonance in Hz", cartridge.resonance_Hz, 0.0, 1e6},
      {"its quality", cartridge.resonance_quality, 0.1, 20.0},
      {"the arm resonance in Hz", cartridge.arm_resonance_Hz, 0.0, 100.0},
      {"its quality", cartridge.arm_quality, 0.1, 20.0},
      {"the balance in dB", cartridge.balance_dB, -40.0, 40.0},
      {"the right channel's lag in s", cartridge.right_lag_s, -1e-3, 1e-3},
      {"the crosstalk in dB", cartridge.crosstalk_dB.value_or(-30.0), -200.0, 0.0},
      {"the stylus radius in m", cartridge.stylus_radius_m, 0.0, 2e-4},
      {"the full-scale velocity in m/s", cartridge.full_scale_velocity_m_per_s, 1e-3, 1.0},
      {"the surface noise in dB", surface.noise_dB, -300.0, 0.0},
      {"the share of low noise", surface.low_share, 0.0, 1.0},
      {"the noise's once-a-turn part", surface.once_per_turn, 0.0, 1.0},
      {"the modulation noise in dB", surface.modulation_noise_dB, -300.0, 0.0},
      {"the crackle a second", surface.crackle_per_s, 0.0, 5000.0},
      {"the crackle in dB", surface.crackle_dB, -300.0, 0.0},
      {"the rumble in dB", surface.rumble_dB, -300.0, 0.0},
      {"the warp's height in m", warp.height_m, 0.0, 5e-3},
      {"the warp's lobes", static_cast<double>(warp.lobes), 1.0, 12.0},
      {"the warp's direction in degrees", warp.direction_deg, -360.0, 360.0},
      {"the pivot's height in m", warp.pivot_height_m, -0.05, 0.05},
      {"the hum in Hz", played.hum_Hz, 10.0, 1000.0},
      {"the hum in dB", played.hum_dB, -300.0, 0.0},
      {"the echo ahead in dB", played.echo_lead_dB.value_or(-60.0), -200.0, 0.0},
      {"the echo behind in dB", played.echo_lag_dB.value_or(-60.0), -200.0, 0.0},
      {"the playback level in dB", played.level_dB, -100.0, 20.0},
  };
  const auto refuse = [](const Figure& figure) {
    return Error{
        Fault::out_of_range,
        fmt::format("{} is {}; give {} to {}", figure.name, figure.value, figure.low, figure.high)};
  };
  const auto within = [](const Figure& figure) {
    return figure.value >= figure.low && figure.value <= figure.high;
  };
  for (const Figure& figure : figures)
    if (!within(figure)) return refuse(figure);
  for (const works::SpeedLine& line : drive.lines)
    for (const Figure& figure :
         {Figure{"a speed line's frequency in Hz", line.frequency_Hz, 0.01, 200.0},
          Figure{"a speed line's peak", line.peak, 0.0, 0.02},
          Figure{"a speed line's phase in degrees", line.phase_deg, -360.0, 360.0}})
      if (!within(figure)) return refuse(figure);
  return Done{};
}

}  // namespace goodside::disc
