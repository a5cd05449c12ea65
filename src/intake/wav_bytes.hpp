#pragma once
#include <span>
#include <string>

#include "base/result.hpp"

namespace goodside::intake {

/// A short recording, its channels interleaved, as the bytes of a 16-bit WAV file, for a page to hold. Samples beyond full
/// scale are held there. Equal samples give equal bytes.
/// Errors: Fault::bad_input at a NaN or infinity; Fault::io when libsndfile refuses.
Result<std::string> wav_bytes(std::span<const float> samples, int sample_rate_Hz, int channels = 1);

}  // namespace goodside::intake
