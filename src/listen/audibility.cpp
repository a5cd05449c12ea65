#include "listen/audibility.hpp"

#include <cmath>

#include "base/expects.hpp"

namespace goodside::listen {

works::Audibility audibility(const FaultEnergies& energies, const AudibilityLines& lines) {
  EXPECTS(energies.fault >= 0.0 && energies.noise >= 0.0 && energies.programme >= 0.0);
  const auto stands_over = [&](double noise_dB, double programme_dB) {
    return energies.fault > 0.0 &&
           energies.fault >= energies.noise * std::pow(10.0, noise_dB / 10.0) &&
           energies.fault >= energies.programme * std::pow(10.0, programme_dB / 10.0);
  };
  if (stands_over(lines.plain_over_noise_dB, lines.plain_over_programme_dB))
    return works::Audibility::plain;
  if (stands_over(lines.slight_over_noise_dB, lines.slight_over_programme_dB))
    return works::Audibility::slight;
  return works::Audibility::masked;
}

}  // namespace goodside::listen
