#pragma once
#include <optional>
#include <span>

#include "works/disc_plays.hpp"

namespace goodside::listen {

/// One play's offset, as seated: from the hole to the groove's centre.
struct SeatedOffset {
  double eccentricity_m{}, sigma_m{}, direction_deg{};  ///< sigma of each component, > 0
  int seating{};  ///< plays of one number were not lifted between
};

/// Tells the disc's hole from the seating's play. A seating's offset is the hole's plus a shift of
/// any direction, as far as the hole's clearance on the spindle allows; so the shift averages out
/// over seatings and the hole stays. Plays of one seating are averaged by 1/sigma^2; over k
/// seatings the hole is the plain mean vector, with
///   S^2 = sum |e - mean|^2 / (2 (k - 1)),   sigma^2 = max(S^2, mean sigma_i^2) / k,
/// the seating's spread a component is sqrt(S^2 - mean sigma_i^2), null where it is not above the
/// measuring error, and the chance that measuring errors alone turn it so is P(chi2 with 2(k - 1)
/// >= sum |e - weighted mean|^2/sigma_i^2). One seating: the offset as seated, its sigma widened by
/// half the usual clearance's rms (0.035 mm: 0.14 mm of play, from memory, a shift anywhere on a
/// disc of that diameter), spread null. No offsets: all null.
[[nodiscard]] works::HoleOffset hole_of(std::span<const SeatedOffset> plays);

}  // namespace goodside::listen
