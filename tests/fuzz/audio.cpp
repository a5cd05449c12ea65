#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "fuzz/require.hpp"
#include "intake/audio_file.hpp"
#include "intake/audio_survey.hpp"
#include "intake/container_size.hpp"

// Any bytes as a recording. They lie in a file that has no name on any disk.

namespace goodside {
namespace {

using fuzz::require;
using fuzz::require_clear;

class MemoryFile {
 public:
  MemoryFile() : descriptor_{memfd_create("recording", 0)} {
    require(descriptor_ >= 0, "the system lends memory as a file");
    path_ = "/proc/self/fd/" + std::to_string(descriptor_);
  }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;
  ~MemoryFile() { close(descriptor_); }

  void hold(const std::uint8_t* data, std::size_t size) const {
    const bool held = ftruncate(descriptor_, 0) == 0 &&
                      pwrite(descriptor_, data, size, 0) == static_cast<ssize_t>(size);
    require(held, "the memory file holds the bytes");
  }
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  int descriptor_;
  std::string path_;
};

/// Samples are finite and within what a recording can hold, wherever they are read.
void read_here_and_there(signal::SampleSource& source) {
  const auto channels = static_cast<std::size_t>(source.channels());
  std::vector<float> block(257 * channels);
  for (const std::int64_t from :
       {std::int64_t{0}, source.frames() / 2, source.frames() - 100, std::int64_t{-100}}) {
    const auto outcome = source.read(from, block);
    if (!outcome) {
      require_clear(outcome.error());
      continue;
    }
    require(std::all_of(block.begin(),
                        block.end(),
                        [](float x) { return std::isfinite(x) && std::abs(x) <= 1000.0F; }),
            "samples are numbers that a recording can hold");
  }
}

}  // namespace
}  // namespace goodside

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace goodside;
  static const MemoryFile file;
  file.hold(data, size);

  const auto container = intake::container_size(file.path());
  require(container.has_value(), "a file that can be read has a size");
  require(container->file_bytes == size, "the size is the file's");
  require(container->present_bytes <= container->file_bytes,
          "no more is there than the file holds");

  const auto source = intake::open_audio(file.path());
  if (!source) {
    require_clear(source.error(), file.path());
    return 0;
  }
  require((*source)->frames() > 0, "a recording has samples");
  require((*source)->channels() == 1 || (*source)->channels() == 2, "one or two channels");
  require((*source)->sample_rate_Hz() >= 8000.0 && (*source)->sample_rate_Hz() <= 192000.0,
          "a rate that is heard");
  read_here_and_there(**source);

  // A few bytes of FLAC can hold hours of one value: reading them out is slow, not wrong.
  constexpr std::int64_t enough_frames = 1 << 20;
  if ((*source)->frames() > enough_frames) return 0;
  const auto survey = intake::survey(**source);
  if (!survey) {
    require_clear(survey.error(), file.path());
    return 0;
  }
  require(survey->frames == (*source)->frames(), "the survey covers every frame");
  for (const auto& channel : survey->channels)
    require(std::isfinite(channel.rms) && channel.rms <= channel.peak * 1.000001 &&
                channel.clipped_frames <= survey->frames,
            "the survey's figures agree with each other");
  return 0;
}
