#pragma once
#include <cstddef>
#include <functional>
#include <vector>

#include "base/result.hpp"
#include "signal/sample_source.hpp"

namespace goodside::listen {

/// How loud a recording is in twelve bands, a hundred times a second: enough to recognise where one
/// recording lies in another, small enough to keep for a whole side (1.3 MB for 4.6 minutes).
struct Features {
  static constexpr std::size_t bands = 12;
  static constexpr double rate_Hz = 100.0;
  std::vector<float>
      values;  ///< frame k at the recording's own time k/100 s, band b: values[k bands + b]
  double peak{}, rms{};  ///< of the samples, full scale 1
  double side_share{};   ///< energy of (left - right)/2 over that of both channels; 0 for mono
  [[nodiscard]] std::size_t frames() const { return values.size() / bands; }
};

/// One pass over a recording. The value is the natural logarithm of the band's energy (both
/// channels, 150 Hz to 7.5 kHz in equal ratios) over a floor 30 dB under the band's mean, less its
/// mean over 2 s: level, cartridge and playback curve drop out. Errors: the source's;
/// Fault::bad_input when every sample is zero; Fault::conflict when `go_on` says no.
Result<Features> hear_features(signal::SampleSource& source,
                               const std::function<bool(double)>& go_on);

}  // namespace goodside::listen
