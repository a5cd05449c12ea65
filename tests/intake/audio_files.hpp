#pragma once
#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace goodside::test {

/// A folder of its own for one test, gone afterwards with all that is in it.
class TemporaryFolder {
 public:
  TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder();

  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }
  [[nodiscard]] std::vector<std::string> names() const;  ///< of what lies in it, sorted

 private:
  std::filesystem::path path_;
};

/// What libsndfile is to write, without our own writer in between.
struct Recording {
  int major{};   ///< SF_FORMAT_WAV …
  int coding{};  ///< SF_FORMAT_PCM_16 …
  int sample_rate_Hz{48000};
  int channels{2};
  std::int64_t frames{48000};
};

/// Sample `frame` of `channel`, within ±1.
using Wave = std::function<float(std::int64_t frame, int channel)>;

/// Half of full scale, another frequency in each channel, so that a swap or a shift by one frame
/// shows.
float two_tones(std::int64_t frame, int channel);

void record(const std::string& path, const Recording& recording, const Wave& wave = two_tones);

std::string bytes_of(const std::string& path);
void write_bytes(const std::string& path, std::string_view bytes);
/// Cuts the file to this share of its bytes.
void cut_to(const std::string& path, double share);
/// A 44-byte header of plain WAV, 16-bit stereo at 48 kHz, that claims `data_bytes` of samples.
std::string wav_header(std::uint32_t data_bytes);

}  // namespace goodside::test
