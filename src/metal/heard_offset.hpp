#pragma once
#include <optional>
#include <string>
#include <vector>

#include "works/centring.hpp"

namespace goodside::metal {

/// The offset of one disc as it was heard, seated on a spindle.
struct HeardOffset {
  std::string disc;
  double eccentricity_m{}, sigma_m{};
};

/// The offset heard on discs of one stamper beside what was read on the plate. Lengths alone are compared: the reading's
/// angles and the groove's have no common zero. Each disc lies anywhere within its hole's play on the spindle, so with a
/// true offset c and a seat of standard deviation s each way a disc is heard at a length whose square has the mean
/// c^2 + 2 s^2; c is taken from the mean of the squares less 2 (s^2 + sigma^2), and its interval from their scatter
/// (Student's t). They agree where it meets the reading's region, widened by nothing.
/// `seating_m`: play of 0.05 to 0.14 mm across, evenly filled, is 0.012 to 0.035 mm each way (from memory); with three discs
/// or more it should be given as the works has measured it. Nothing without a disc, or where the reading has no region.
[[nodiscard]] std::optional<works::HeardBeside> heard_against_read(
    const std::vector<HeardOffset>& heard,
    const works::OffsetEstimate& read,
    double seating_m = 0.025e-3);

}  // namespace goodside::metal
