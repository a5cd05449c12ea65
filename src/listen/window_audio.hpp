#pragma once
#include <cstddef>
#include <optional>
#include <vector>

#include "base/result.hpp"
#include "listen/side_track.hpp"
#include "listen/trace_cut.hpp"
#include "signal/sample_source.hpp"

namespace goodside::listen {

/// What an analysis keeps, so that any window can be heard again: about 30 bytes a track point, 2 MB for a side
/// of 20 minutes.
struct Kept {
  SideTrack track;        ///< delay track, polarity, channel order
  GrooveReading reading;  ///< how the cut was read
  bool mono{};            ///< the reference carries one signal
};

/// Programme time under the stylus at a capture time, nothing where no stretch holds it: in the
/// lead-in, the run-out, and between two stretches.
[[nodiscard]] std::optional<double> programme_at(const Kept& kept, double capture_s);

inline constexpr double window_rate_Hz = 48000.0;
inline constexpr double longest_window_s = 60.0;

/// A stretch of capture time as interleaved stereo at `window_rate_Hz`, full scale 1; a mono capture fills both
/// channels alike.
struct WindowSamples {
  std::vector<float> capture;
  /// The cut as this player plays it, and capture - cut; empty where no cut is known.
  std::vector<float> cut, difference;
  [[nodiscard]] std::size_t frames() const { return capture.size() / 2; }
};

struct Window {
  double from_s{}, to_s{};  ///< capture time; zeros outside the recording
};

/// The capture alone, as it was recorded.
/// Errors: Fault::out_of_range for a window that is not in (0, longest_window_s]; the source's.
Result<WindowSamples> window_audio(const signal::SampleSource& capture, const Window& window);

/// Capture, cut and difference of a window, made again from what was kept: the cut is read along the delay track,
/// matched to the player by the linear transfers of listen/match over the window and a second about it, and taken
/// away. All three are in the cut's polarity and channel order, at one gain, that of the capture; off the
/// programme the cut is silent.
/// Accuracy: what the bench explains by limiting stays in the difference; band to 0.40 of the lower
/// rate. Cost: a window of 3 s of a 96 kHz capture takes about a tenth of a second on one core.
/// Errors: as above.
Result<WindowSamples> window_audio(const signal::SampleSource& capture,
                                   const signal::SampleSource& reference,
                                   const Kept& kept,
                                   const Window& window);

}  // namespace goodside::listen
