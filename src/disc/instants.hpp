#pragma once
#include <cstdint>
#include <span>

#include "disc/played_path.hpp"

namespace goodside::disc {

/// Programme time under the stylus for frames in a row: true time of frame n is n / true_rate_Hz.
/// The exact path is solved at knots 1 ms apart on a grid that no block boundary moves, and a cubic
/// runs through the four knots around each frame, within one stretch: a flutter of 0.1 % at 100 Hz
/// errs by 1e-12 s, and where the lead-in's pitch meets the programme's, by less than 1e-10 s.
void lay_instants(const PlayedPath& path,
                  double true_rate_Hz,
                  std::int64_t from_frame,
                  std::span<double> programme_s);

}  // namespace goodside::disc
