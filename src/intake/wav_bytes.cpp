#include "intake/wav_bytes.hpp"

#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <memory>

namespace goodside::intake {
namespace {

/// A file in memory, as libsndfile asks for one.
struct Held {
  std::string bytes;
  sf_count_t at{};
};

Held& held(void* user) {
  return *static_cast<Held*>(user);
}

sf_count_t length(void* user) {
  return static_cast<sf_count_t>(held(user).bytes.size());
}

sf_count_t seek(sf_count_t offset, int whence, void* user) {
  Held& file = held(user);
  if (whence == SEEK_CUR) offset += file.at;
  if (whence == SEEK_END) offset += length(user);
  file.at = std::max<sf_count_t>(0, offset);
  return file.at;
}

sf_count_t read(void* into, sf_count_t count, void* user) {
  Held& file = held(user);
  const sf_count_t taken = std::clamp<sf_count_t>(length(user) - file.at, 0, count);
  std::copy_n(file.bytes.data() + file.at, taken, static_cast<char*>(into));
  file.at += taken;
  return taken;
}

sf_count_t write(const void* from, sf_count_t count, void* user) {
  Held& file = held(user);
  const auto end = static_cast<std::size_t>(file.at + count);
  if (file.bytes.size() < end) file.bytes.resize(end);
  std::copy_n(static_cast<const char*>(from), count, file.bytes.data() + file.at);
  file.at += count;
  return count;
}

sf_count_t tell(void* user) {
  return held(user).at;
}

}  // namespace

Result<std::string> wav_bytes(std::span<const float> samples, int sample_rate_Hz, int channels) {
  if (!std::ranges::all_of(samples, [](float x) { return std::isfinite(x); }))
    return Error{Fault::bad_input, "a sample to be written is not a finite number"};
  SF_VIRTUAL_IO memory{length, seek, read, write, tell};
  SF_INFO info{};
  info.samplerate = sample_rate_Hz;
  info.channels = channels;
  info.format = SF_FORMAT_WAV | SF_FORMAT_PCM_16;
  Held file;
  std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> sound{
      sf_open_virtual(&memory, SFM_WRITE, &info, &file), sf_close};
  if (!sound) return Error{Fault::io, std::string{"no sound can be made: "} + sf_strerror(nullptr)};
  sf_command(sound.get(), SFC_SET_CLIPPING, nullptr, SF_TRUE);
  const auto count = static_cast<sf_count_t>(samples.size()) / channels;
  if (sf_writef_float(sound.get(), samples.data(), count) != count)
    return Error{Fault::io, std::string{"no sound can be made: "} + sf_strerror(sound.get())};
  // The header's sizes are written when the file is closed.
  if (sf_close(sound.release()) != 0) return Error{Fault::io, "no sound can be made"};
  return std::move(file.bytes);
}

}  // namespace goodside::intake
