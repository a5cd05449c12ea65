#pragma once
#include <optional>
#include <span>

#include "works/family.hpp"
#include "works/heard_play.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

inline constexpr double spread_confidence = 0.9;
inline constexpr int fewest_discs = 6;

/// A measure that has no groove place of its own, set against stamper, mounting, press, batch, cycle
/// recipe and shift (crossed_effects.hpp), one side at a time. Several plays of one disc count
/// once: the quietest for noise, since washing takes dust away and adds none, else their mean.
/// Levels that stand out: effect beyond two of its standard deviations, eight at most. None where it
/// is known of fewer than `fewest_discs` discs, or no source can be told.
/// Plays of discs that the family does not know are passed over.
[[nodiscard]] std::optional<works::Spread> spread_of(const works::Family&,
                                                     works::DiscSide,
                                                     std::span<const works::HeardPlay>,
                                                     works::SideMeasure);

/// Off-centre taken apart as a vector, with one spread along both axes:
///   e = mean + stamper + mounting + press + disc,
/// the stamper's hole being the same on each of its discs however it was mounted, the press's pin
/// turning with each mounting (the stamper is put on at some angle), the press itself only where all
/// stampers go on at one angle. The seat of the hole on the spindle is in the residual. A pin's size
/// is the root mean square over its press's mountings. None with fewer than `fewest_discs` discs.
/// Validity: the stamper's and the mounting's shares are told apart by stampers mounted twice or
/// more; `not_told` says so where there are none.
[[nodiscard]] std::optional<works::OffCentre> off_centre_of(const works::Family&,
                                                            works::DiscSide,
                                                            std::span<const works::HeardPlay>);

/// Both of them for every measure and side, on up to `jobs` threads (0: one a core).
void tell_spread(const works::Family&,
                 std::span<const works::HeardPlay>,
                 int jobs,
                 works::TraceReport&);

}  // namespace goodside::trace
