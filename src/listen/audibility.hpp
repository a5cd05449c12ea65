#pragma once
#include "works/listening_report.hpp"

namespace goodside::listen {

/// Energies over one and the same window of at least 5 ms about the fault, all above 1 kHz, in any
/// one unit.
struct FaultEnergies {
  double fault{};      ///< of the residual, the noise's share taken off
  double noise{};      ///< of the surface noise around it
  double programme{};  ///< of the local programme
};

/// Lines in dB that the fault's energy must reach.
struct AudibilityLines {
  double plain_over_noise_dB{10.0}, plain_over_programme_dB{-15.0};
  double slight_over_noise_dB{3.0}, slight_over_programme_dB{-30.0};
};

/// plain: at least 10 dB over the surface noise and not more than 15 dB under the local programme;
/// slight: 3 dB over and not more than 30 dB under; masked: the rest.
/// The house's definition: common practice, no source. Silence under the fault (noise or programme
/// 0) never masks it. Energies finite and >= 0.
[[nodiscard]] works::Audibility audibility(const FaultEnergies& energies,
                                           const AudibilityLines& lines = {});

}  // namespace goodside::listen
