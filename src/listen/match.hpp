#pragma once
#include <array>
#include <functional>
#include <span>

#include "signal/aligned.hpp"

namespace goodside::listen {

using StereoSamples = std::array<signal::Aligned<float>, 2>;

/// Renders the warped cut as this player would play it: 2x2 transfers fitted every two seconds to
/// four seconds of Hann frames of 85 ms (triangular in time), smoothed over five bins, cut to 21 ms
/// each side, interpolated from frame to frame and applied by overlap-save. `warped[1]` is unread
/// when mono. `trust(t)` in [0, 1], t in seconds from the first sample, says how far the frame
/// about t may shape the transfer. `prediction` takes the size of the capture. Cost: six transforms
/// a frame.
void match_player(const StereoSamples& capture,
                  const StereoSamples& warped,
                  bool mono,
                  double rate_Hz,
                  const std::function<double(double)>& trust,
                  StereoSamples& prediction);

/// Adds to the prediction what bends of the programme explain of `residual` = capture - prediction, in one or two goes:
///     tracing   d/dt y^2: a ball of radius R on a 45-degree wall adds (R/2) d/dt (v/V)^2 to the wall's velocity
///     limiting  y^3, where `limited`: a cut that was limited harder than the reference
/// y the prediction, each of unit mean square. What the ball traces after the playback curve only resembles
/// this; the transfers fitted to it take up the difference. `residual` follows the prediction; the two last
/// are only storage.
void match_bends(StereoSamples& residual,
                 bool mono,
                 bool limited,
                 double rate_Hz,
                 const std::function<double(double)>& trust,
                 StereoSamples& prediction,
                 StereoSamples& bent,
                 StereoSamples& explained);

}  // namespace goodside::listen
