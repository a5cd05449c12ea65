#include "intake/audio_writer.hpp"

#include <fmt/format.h>
#include <sndfile.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <optional>
#include <string_view>
#include <utility>

#include "base/expects.hpp"
#include "intake/safe_file.hpp"

namespace goodside::intake {
namespace {

std::optional<int> container_of(const std::string& path) {
  std::string extension = std::filesystem::path{path}.extension().string();
  std::transform(extension.begin(), extension.end(), extension.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  if (extension == ".wav" || extension == ".rf64") return SF_FORMAT_RF64;
  if (extension == ".w64") return SF_FORMAT_W64;
  if (extension == ".flac") return SF_FORMAT_FLAC;
  return {};
}

int coding_of(Coding coding) {
  switch (coding) {
    case Coding::pcm_16:
      return SF_FORMAT_PCM_16;
    case Coding::pcm_24:
      return SF_FORMAT_PCM_24;
    case Coding::float_32:
      return SF_FORMAT_FLOAT;
  }
  return SF_FORMAT_PCM_24;
}

/// libsndfile writes the time of day into the PEAK chunk of an RF64 float file, whatever it is told: equal samples
/// would not give equal bytes. Puts 0 there.
bool forget_time_of_day(int descriptor) {
  std::array<char, 512> head{};
  const ssize_t known = pread(descriptor, head.data(), head.size(), 0);
  if (known < 0) return false;
  constexpr std::string_view name = "PEAK";
  const auto at = std::string_view{head.data(), static_cast<std::size_t>(known)}.find(name);
  if (at == std::string_view::npos) return true;
  constexpr std::array<char, 4> never{};
  constexpr std::size_t before = 12;  // name, size, version
  return pwrite(descriptor, never.data(), never.size(), static_cast<off_t>(at + before)) ==
         static_cast<ssize_t>(never.size());
}

}  // namespace

struct AudioWriter::Inside {
  SafeFile target;  // before the handle, so that libsndfile lets go before the file is taken away
  std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> file;
  std::string path;
  AudioFormat format;
  std::int64_t frames{};
  std::int64_t held{};
};

AudioWriter::AudioWriter(std::unique_ptr<Inside> inside) : inside_{std::move(inside)} {}
AudioWriter::~AudioWriter() = default;

Result<std::unique_ptr<AudioWriter>> AudioWriter::create(const std::string& path,
                                                         const AudioFormat& format) {
  const auto bad = [&](const std::string& what) {
    return Error{Fault::bad_input, path + ": " + what};
  };
  const auto container = container_of(path);
  if (!container) return bad("no known extension; end the name in .wav, .rf64, .w64 or .flac");
  if (format.channels < 1 || format.channels > 2)
    return bad(fmt::format("{} channels; write one or two", format.channels));
  if (format.sample_rate_Hz < 8000 || format.sample_rate_Hz > 192000)
    return bad(fmt::format("{} samples a second; write 8 to 192 kHz", format.sample_rate_Hz));
  if (*container == SF_FORMAT_FLAC && format.coding == Coding::float_32)
    return bad("FLAC holds integers only; write 24 bits, or WAV");

  auto target = SafeFile::create(path);
  if (!target) return target.error();
  SF_INFO info{};
  info.samplerate = format.sample_rate_Hz;
  info.channels = format.channels;
  info.format = *container | coding_of(format.coding);
  constexpr int close_descriptor = SF_FALSE;
  std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> file{
      sf_open_fd(target->descriptor(), SFM_WRITE, &info, close_descriptor), &sf_close};
  if (!file)
    return Error{
        Fault::io,
        fmt::format(
            "{}: cannot be written ({}); choose another format", path, sf_strerror(nullptr))};
  sf_command(file.get(), SFC_RF64_AUTO_DOWNGRADE, nullptr, SF_TRUE);
  // The PEAK chunk carries the time of day: equal samples would not give equal bytes.
  sf_command(file.get(), SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
  sf_command(file.get(), SFC_SET_CLIPPING, nullptr, SF_TRUE);
  return std::unique_ptr<AudioWriter>{new AudioWriter{
      std::make_unique<Inside>(Inside{std::move(*target), std::move(file), path, format, 0, 0})}};
}

Outcome AudioWriter::write(std::span<const float> interleaved) {
  const auto width = static_cast<std::size_t>(inside_->format.channels);
  EXPECTS(inside_->file && interleaved.size() % width == 0);
  const auto broken = std::find_if_not(
      interleaved.begin(), interleaved.end(), [](float x) { return std::isfinite(x); });
  if (broken != interleaved.end()) {
    const auto frame = inside_->frames + (broken - interleaved.begin()) / inside_->format.channels;
    return Error{Fault::bad_input,
                 fmt::format("{}: the sample at {:.6f} s to be written is not a finite number",
                             inside_->path,
                             static_cast<double>(frame) / inside_->format.sample_rate_Hz)};
  }
  if (inside_->format.coding != Coding::float_32)
    inside_->held += std::count_if(
        interleaved.begin(), interleaved.end(), [](float x) { return std::abs(x) > 1.0F; });

  const auto frames = static_cast<sf_count_t>(interleaved.size() / width);
  if (sf_writef_float(inside_->file.get(), interleaved.data(), frames) != frames)
    return Error{Fault::io,
                 fmt::format("{}: cannot be written ({}); see to the space on the disk",
                             inside_->path,
                             sf_strerror(inside_->file.get()))};
  inside_->frames += frames;
  return Done{};
}

Outcome AudioWriter::finish() {
  EXPECTS(inside_->file);
  if (sf_close(inside_->file.release()) != 0 || !forget_time_of_day(inside_->target.descriptor()))
    return Error{Fault::io, inside_->path + ": cannot be finished; see to the space on the disk"};
  return inside_->target.commit();
}

std::int64_t AudioWriter::frames() const {
  return inside_->frames;
}
std::int64_t AudioWriter::held_samples() const {
  return inside_->held;
}

}  // namespace goodside::intake
