#pragma once
#include <array>

#include "works/listening_report.hpp"

namespace goodside::listen {

/// What was measured of one event. All features are finite; energies and shares >= 0.
struct EventFeatures {
  double duration_s{};         ///< between 3 and 95 % of its energy
  double energy_dB{};          ///< relative to a full-scale sine of one second
  double peak_dB{};            ///< relative to full scale of the reference
  double excess_dB{};          ///< energy over the noise around it
  double low_share{};          ///< share of its energy below 500 Hz, 0 .. 1
  double burst_kurtosis{3.0};  ///< fourth moment over squared second moment: 3 for Gaussian noise
  double level_change_dB{};  ///< capture against prediction meanwhile: negative where programme is
                             ///< missing
  double capture_peak_fs{};  ///< peak of the capture, 1 at full scale
  double share_at_full_scale{};            ///< share of the event's samples there
  std::array<double, 2> channel_energy{};  ///< left, right
  double lateral_energy{}, vertical_energy{};
  double prediction_correlation{};  ///< of the residual with minus the prediction, -1 .. 1
  double mean_dB{}, ground_dB{};    ///< mean and lower quartile of its cells over the noise around
};

/// Where one kind passes into another. The trade draws these lines by ear: common practice, no
/// source.
struct ClassLines {
  double burst_s{5e-3};         ///< noise must last longer to be a burst
  double burst_kurtosis{18.0};  ///< a single decaying impulse lies above
  double low_share{0.5};        ///< more energy below 500 Hz makes a pop
  double dropout_dB{-3.0};      ///< programme at least so far down
  double dropout_s{2e-3};  ///< less cannot be told from a tick that happens to oppose the programme
  double dropout_correlation{0.5};
  double clip_peak{0.99};   ///< of full scale
  double clip_share{0.02};  ///< of the event's samples: flat tops, not one high sample
  double one_wall{10.0};    ///< energy ratio of one channel over the other
  double one_plane{4.0};    ///< energy ratio of lateral over vertical, or the reverse
};

struct FaultClass {
  works::FaultKind kind{};
  works::FaultChannel channel{};
  works::Plane plane{};
  friend bool operator==(const FaultClass&, const FaultClass&) = default;
};

/// Names an event, asking in this order:
///   clip     the capture stands at full scale: the recorder's doing, and it spoils every other feature
///   dropout  programme missing: residual = (g - 1) prediction with g < 1, so it opposes the prediction
///   pop      most of its energy in the bass (100 to 500 Hz): the arm is set swinging
///   burst    lasting noise, such as torn or unfilled groove
///   tick     an impulse: a particle or scratch meets the stylus (0.05 mm at 0.5 m/s is 0.1 ms) and the
///            cartridge's resonance, 10-20 kHz (from memory), dies within 1 ms
/// Channel: one when it holds 10 dB more than the other; a cartridge separates 20-30 dB (from
/// memory), so a fault of one wall stays well clear. Plane: a fault of one wall of a 45/45 groove
/// moves both alike: mixed. Jumps and repeats are found by the time track, never here.
[[nodiscard]] FaultClass classify(const EventFeatures& event, const ClassLines& lines = {});

}  // namespace goodside::listen
