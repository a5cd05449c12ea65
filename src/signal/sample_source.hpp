#pragma once
#include <cstdint>
#include <memory>
#include <span>

#include "base/result.hpp"

namespace goodside::signal {

/// Random access to the samples of one recording, as floats in [-1, 1], interleaved by channel.
/// One instance serves one thread; `again` opens another on the same recording.
class SampleSource {
 public:
  SampleSource() = default;
  SampleSource(const SampleSource&) = delete;
  SampleSource& operator=(const SampleSource&) = delete;
  virtual ~SampleSource() = default;

  [[nodiscard]] virtual double sample_rate_Hz() const = 0;
  [[nodiscard]] virtual int channels() const = 0;
  [[nodiscard]] virtual std::int64_t frames() const = 0;

  /// Fills `interleaved` (a whole number of frames) from frame `from`; frames outside the recording
  /// are zero. Errors: Fault::io when the file ends or breaks before its header says so.
  virtual Outcome read(std::int64_t from, std::span<float> interleaved) = 0;

  [[nodiscard]] virtual Result<std::unique_ptr<SampleSource>> again() const = 0;
};

}  // namespace goodside::signal
