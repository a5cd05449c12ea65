#include "intake/audio_files.hpp"

#include <sndfile.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace goodside::test {

namespace fs = std::filesystem;

TemporaryFolder::TemporaryFolder() {
  std::string pattern = (fs::temp_directory_path() / "goodside-test-XXXXXX").string();
  if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error{"no temporary folder"};
  path_ = pattern;
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

std::vector<std::string> TemporaryFolder::names() const {
  std::vector<std::string> all;
  for (const auto& entry : fs::directory_iterator{path_})
    all.push_back(entry.path().filename().string());
  std::sort(all.begin(), all.end());
  return all;
}

float two_tones(std::int64_t frame, int channel) {
  const double step = channel == 0 ? 0.0131 : 0.0377;
  return static_cast<float>(0.5 * std::sin(step * static_cast<double>(frame)));
}

void record(const std::string& path, const Recording& recording, const Wave& wave) {
  SF_INFO info{};
  info.samplerate = recording.sample_rate_Hz;
  info.channels = recording.channels;
  info.format = recording.major | recording.coding;
  SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
  if (file == nullptr) throw std::runtime_error{sf_strerror(nullptr)};
  std::vector<float> frame(static_cast<std::size_t>(recording.channels));
  for (std::int64_t i = 0; i < recording.frames; ++i) {
    for (int c = 0; c < recording.channels; ++c) frame[static_cast<std::size_t>(c)] = wave(i, c);
    if (sf_writef_float(file, frame.data(), 1) != 1) throw std::runtime_error{sf_strerror(file)};
  }
  sf_close(file);
}

std::string bytes_of(const std::string& path) {
  std::ostringstream bytes;
  bytes << std::ifstream{path, std::ios::binary}.rdbuf();
  return bytes.str();
}

void write_bytes(const std::string& path, std::string_view bytes) {
  std::ofstream{path, std::ios::binary}.write(bytes.data(),
                                              static_cast<std::streamsize>(bytes.size()));
}

void cut_to(const std::string& path, double share) {
  const auto bytes = static_cast<double>(fs::file_size(path));
  fs::resize_file(path, static_cast<std::uintmax_t>(bytes * share));
}

std::string wav_header(std::uint32_t data_bytes) {
  const auto little_endian = [](std::uint32_t value, int count) {
    std::string out;
    for (int i = 0; i < count; ++i, value >>= 8U) out += static_cast<char>(value & 0xFFU);
    return out;
  };
  return "RIFF" + little_endian(36 + data_bytes, 4) + "WAVEfmt " + little_endian(16, 4) +
         little_endian(1, 2) + little_endian(2, 2) + little_endian(48000, 4) +
         little_endian(192000, 4) + little_endian(4, 2) + little_endian(16, 2) + "data" +
         little_endian(data_bytes, 4);
}

}  // namespace goodside::test
