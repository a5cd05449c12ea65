#pragma once
#include <cstdint>
#include <span>

#include "disc/played_path.hpp"

namespace goodside::disc {

/// Programme time under the stylus for frames in a row: true time of frame n is n / true_rate_Hz.
/// The exact path is solved at knots 0.25 ms apart on a grid that no block boundary moves, and a
/// cubic runs through the four knots around each frame, within one stretch. Accuracy: 1e-10 s
/// within the programme, flutter of 0.1 % at 100 Hz included; 1e-7 s for a millisecond beside its
/// two ends and those of the lead-in, where the pitch has a step (both held against the exact path
/// by the tests).
void lay_instants(const PlayedPath& path,
                  double true_rate_Hz,
                  std::int64_t from_frame,
                  std::span<double> programme_s);

}  // namespace goodside::disc
