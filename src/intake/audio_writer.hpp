#pragma once
#include <cstdint>
#include <memory>
#include <span>
#include <string>

#include "base/result.hpp"

namespace goodside::intake {

enum class Coding { pcm_16, pcm_24, float_32 };

struct AudioFormat {
  int sample_rate_Hz{96000};
  int channels{2};
  Coding coding{Coding::pcm_24};
};

/// Writes a recording as a stream. The extension chooses the container: .wav (RIFF, which becomes
/// RF64 when it outgrows 4 GiB), .rf64, .w64 or .flac. The file takes its name in `finish`; before
/// that, or when anything fails, nothing of that name appears or changes. Equal samples give equal
/// bytes.
class AudioWriter {
 public:
  /// Errors: Fault::bad_input for another extension, more than two channels, a rate outside 8 to
  /// 192 kHz, or float in FLAC, which holds integers only; Fault::io when the folder cannot be
  /// written.
  static Result<std::unique_ptr<AudioWriter>> create(const std::string& path,
                                                     const AudioFormat& format);

  AudioWriter(const AudioWriter&) = delete;
  AudioWriter& operator=(const AudioWriter&) = delete;
  ~AudioWriter();

  /// Appends whole frames, interleaved, full scale 1. Integer codings hold samples beyond full
  /// scale at full scale and count them. Errors: Fault::bad_input at a NaN or infinity; Fault::io.
  Outcome write(std::span<const float> interleaved);
  /// To be called once, after which nothing more is written.
  Outcome finish();

  [[nodiscard]] std::int64_t frames() const;
  [[nodiscard]] std::int64_t held_samples() const;  ///< that were beyond full scale

 private:
  struct Inside;
  explicit AudioWriter(std::unique_ptr<Inside>);
  std::unique_ptr<Inside> inside_;
};

}  // namespace goodside::intake
