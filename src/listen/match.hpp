#pragma once
#include <array>
#include <functional>
#include <span>
#include <vector>

#include "signal/aligned.hpp"

namespace goodside::listen {

using StereoSamples = std::array<signal::Aligned<float>, 2>;

/// What bends the programme is worked out at so many times the rate that it is heard at: its harmonics and sums would
/// fold back from half the rate, where a real stylus' do not.
inline constexpr std::size_t groove_oversampling = 2;

/// Energy of what bends the programme, of its first difference, by channel in cells of `bend_cell` samples: where it
/// is great, what is taken away is least certain. Empty: no bend is known.
using BendEnergy = std::array<std::vector<float>, 2>;
inline constexpr std::size_t bend_cell = 8;
/// Adds the energy of `change`, which has `oversampling` samples to one, to `bend`, which takes its size.
void add_bend(const signal::Aligned<float>& change,
              std::size_t oversampling,
              std::vector<float>& bend);

/// The powers of a programme that its bends are made of: d/dt y^2 as the difference from sample to sample, y^3.
enum class Power { square_slope, cube };
/// Replaces samples at the groove's rate by that power of them.
void raise_to(Power power, signal::Aligned<float>& samples);

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

/// What is looked for beside the linear transfer.
struct Bends {
  bool played{};   ///< d/dt y^2 of the prediction y: tracing, where no stylus reads the cut
  bool cut{};      ///< d/dt v^2 of the cut's velocity v: what is left of tracing where one does
  bool limited{};  ///< x^3 of the cut x: it was limited harder than the reference
};

/// Adds to the prediction what bends of the programme explain of `residual` = capture - prediction, each of unit mean
/// square. A ball of radius R on a 45-degree wall adds (R/2) d/dt (v/V)^2 to the wall's velocity v; the transfers
/// fitted take up what the player makes of it. The cube is taken less what the cut itself explains of it, so that the
/// linear transfer, fitted first, and the bend's are fitted as if at once (the theorem of Frisch, Waugh and Lovell);
/// an even power has next to nothing of the cut in it. `residual` follows the prediction; what was added is told in
/// `bend`; the two last are only storage. Cost: one match_player's for each kind, two for limiting.
void match_bends(const StereoSamples& warped,
                 const Bends& bends,
                 bool mono,
                 double rate_Hz,
                 const std::function<double(double)>& trust,
                 StereoSamples& residual,
                 StereoSamples& prediction,
                 BendEnergy& bend,
                 StereoSamples& bent,
                 StereoSamples& explained);

}  // namespace goodside::listen
