#pragma once
#include <functional>
#include <span>

#include "base/result.hpp"
#include "listen/trace_cut.hpp"

namespace goodside::listen {

/// Adds what each reading would leave of the side to `left`, one for one.
using TryReadings = std::function<Outcome(std::span<const GrooveReading>, std::span<Leftover>)>;

/// The reading of the groove that leaves least of a side: first whether a stylus reads it at all and in which sense, then
/// how strongly, whether the cut was limited, and how strongly once more. Least is by the mean logarithm, each minimum
/// by the parabola through the three lowest of what was tried; what takes less than a hundredth away is left at 0.
/// `start` gives speed and radii. Fifteen readings are tried at most. Errors: those of `try_readings`.
Result<GrooveReading> fit_reading(const GrooveReading& start, const TryReadings& try_readings);

}  // namespace goodside::listen
