#pragma once
#include <optional>
#include <vector>

#include "base/result.hpp"
#include "draw/report_page.hpp"
#include "line/hear_capture.hpp"
#include "listen/window_audio.hpp"
#include "works/listening_report.hpp"

namespace goodside::line {

inline constexpr std::size_t most_sounds = 4;
inline constexpr double sound_length_s = 2.0;

/// The worst faults to be heard: two seconds about each, of the channel that the fault is louder in; a fault that
/// another's window holds already is passed over, and one of a pattern stands for all of it. With what the analysis kept, capture, cut and difference at one
/// gain; without, the capture alone. At most 2.3 MB of WAV. Errors: those of intake::open_audio and
/// listen::window_audio.
Result<std::vector<draw::FaultSound>> worst_sounds(const Hearing&,
                                                   const works::ListeningReport&,
                                                   const std::optional<listen::Kept>&);

}  // namespace goodside::line
