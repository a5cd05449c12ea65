#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "signal/sample_source.hpp"

namespace goodside::intake {

/// What one channel holds; amplitudes relative to full scale.
struct ChannelSurvey {
  double peak{};                  ///< largest magnitude
  double rms{};                   ///< about zero
  double mean{};                  ///< the direct component
  std::int64_t clipped_frames{};  ///< in runs of three and more at full scale, |x| >= 1 - 2^-15
  std::int64_t longest_clipped_run{};  ///< frames; 0 when no run reaches three
  /// Share of the seconds with programme in which this channel is 40 dB or more under the other.
  double dead_share{};
};

struct AudioSurvey {
  std::int64_t frames{};
  std::vector<ChannelSurvey> channels;

  [[nodiscard]] bool silent() const;           ///< every sample is exactly zero
  [[nodiscard]] double clipped_share() const;  ///< clipped samples of all samples, in [0, 1]
};

/// One streaming pass over a recording, in bounded memory.
/// Errors: those of the source; Fault::bad_input with the place in seconds at the first NaN or
/// infinity.
Result<AudioSurvey> survey(const signal::SampleSource& source);

/// Refuses a silent recording in one line; `name` is how the person knows the file.
Outcome require_sound(const AudioSurvey&, const std::string& name);

/// Plain sentences on what does not forbid listening but colours it: clipping, a dead channel, an
/// offset.
std::vector<std::string> remarks(const AudioSurvey&, const std::string& name);

}  // namespace goodside::intake
