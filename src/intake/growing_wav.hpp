#pragma once
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"

namespace goodside::intake {

/// A recording that is written while it happens: 24-bit WAV whose header is true after each `keep`,
/// so that a power cut or a kill takes only what came since.
/// Source: RIFF and WAVE by Microsoft and IBM, 1991 (format 1, 44-byte header).
class GrowingWav {
 public:
  /// Errors: Fault::io, also where there is such a file.
  static Result<std::unique_ptr<GrowingWav>> create(const std::string& path,
                                                    int sample_rate_Hz,
                                                    int channels);
  GrowingWav(const GrowingWav&) = delete;
  GrowingWav& operator=(const GrowingWav&) = delete;
  ~GrowingWav();

  /// Appends whole frames, full scale 1; beyond it they are held there. Errors: Fault::io, then the
  /// file still holds what was kept; Fault::out_of_range beyond the 4 GiB of a WAV.
  Outcome write(std::span<const float> interleaved);
  /// Brings all to the disk.
  Outcome keep();
  /// Takes back all but the first `frames`, and keeps those.
  Outcome cut(std::int64_t frames);

  [[nodiscard]] std::int64_t frames() const { return frames_; }
  [[nodiscard]] std::int64_t kept_frames() const { return kept_frames_; }

 private:
  GrowingWav(std::string path, int descriptor, int sample_rate_Hz, int channels);
  Outcome write_header(std::int64_t frames);
  [[nodiscard]] Error failed() const;

  std::string path_;
  int descriptor_;
  int sample_rate_Hz_, channels_;
  std::int64_t frames_{}, kept_frames_{};
  std::vector<unsigned char> bytes_;
};

/// Cuts a recording that was broken off back to what its header says was kept; its length in bytes,
/// 0 where nothing was. Errors: Fault::io; Fault::bad_input where it is none.
Result<std::int64_t> mend_growing_wav(const std::string& path);

}  // namespace goodside::intake
