#pragma once
#include <optional>
#include <string>

#include "base/result.hpp"
#include "line/kept_track.hpp"
#include "listen/window_audio.hpp"

namespace goodside::line {

/// A window as it is heard: WAV, 16 bit, 48 kHz, two channels.
struct WindowSound {
  std::string capture;
  std::string cut, difference;  ///< empty where nothing was kept of the cut
};

/// Opens the files (from `folder` where their paths are not from the root) and makes the window
/// again from what was kept, or of the capture alone. Errors: those of intake::open_audio and
/// listen::window_audio, naming the file.
Result<WindowSound> window_sound(const std::string& folder,
                                 const std::string& capture,
                                 const std::optional<KeptTrack>& track,
                                 const listen::Window& window);

}  // namespace goodside::line
