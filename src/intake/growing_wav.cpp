#include "intake/growing_wav.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <filesystem>

#include "base/expects.hpp"
#include "intake/container_size.hpp"

namespace goodside::intake {
namespace {

constexpr std::int64_t header_bytes = 44, sample_bytes = 3;
constexpr std::int64_t largest_bytes = 0xFFFFFFFF - header_bytes;

void put(unsigned char* at, std::uint32_t value, int count) {
  for (int i = 0; i < count; ++i) at[i] = static_cast<unsigned char>(value >> (8 * i));
}

bool write_all(int descriptor, const unsigned char* bytes, std::size_t count, off_t at) {
  while (count > 0) {
    const auto done = pwrite(descriptor, bytes, count, at);
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0) return false;
    bytes += done;
    at += done;
    count -= static_cast<std::size_t>(done);
  }
  return true;
}

}  // namespace

GrowingWav::GrowingWav(std::string path, int descriptor, int sample_rate_Hz, int channels)
    : path_{std::move(path)},
      descriptor_{descriptor},
      sample_rate_Hz_{sample_rate_Hz},
      channels_{channels} {}

GrowingWav::~GrowingWav() {
  close(descriptor_);
}

Result<std::unique_ptr<GrowingWav>> GrowingWav::create(const std::string& path,
                                                       int sample_rate_Hz,
                                                       int channels) {
  EXPECTS(sample_rate_Hz > 0 && (channels == 1 || channels == 2));
  const int descriptor = open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0640);
  if (descriptor < 0)
    return Error{Fault::io, fmt::format("{}: cannot be written ({})", path, std::strerror(errno))};
  std::unique_ptr<GrowingWav> made{new GrowingWav{path, descriptor, sample_rate_Hz, channels}};
  if (const auto kept = made->keep(); !kept) return kept.error();
  return made;
}

Error GrowingWav::failed() const {
  const std::string why = errno == ENOSPC || errno == EFBIG || errno == EDQUOT
                              ? "the disk is full"
                              : std::strerror(errno);
  return {Fault::io, fmt::format("the recording cannot be written ({})", why)};
}

Outcome GrowingWav::write_header(std::int64_t frames) {
  const auto data = static_cast<std::uint32_t>(frames * channels_ * sample_bytes);
  const auto frame_bytes = static_cast<std::uint32_t>(channels_ * sample_bytes);
  const auto rate = static_cast<std::uint32_t>(sample_rate_Hz_);
  std::array<unsigned char, header_bytes> head{};
  unsigned char* const at = head.data();
  std::memcpy(at, "RIFF", 4);
  put(at + 4, data + static_cast<std::uint32_t>(header_bytes) - 8 + data % 2, 4);
  std::memcpy(at + 8, "WAVEfmt ", 8);
  put(at + 16, 16, 4);
  put(at + 20, 1, 2);
  put(at + 22, static_cast<std::uint32_t>(channels_), 2);
  put(at + 24, rate, 4);
  put(at + 28, rate * frame_bytes, 4);
  put(at + 32, frame_bytes, 2);
  put(at + 34, 24, 2);
  std::memcpy(at + 36, "data", 4);
  put(at + 40, data, 4);
  if (!write_all(descriptor_, at, head.size(), 0)) return failed();
  return Done{};
}

Outcome GrowingWav::write(std::span<const float> interleaved) {
  const auto width = static_cast<std::size_t>(channels_);
  EXPECTS(interleaved.size() % width == 0);
  const std::int64_t before = frames_ * channels_ * sample_bytes;
  const auto more = static_cast<std::int64_t>(interleaved.size()) * sample_bytes;
  if (before + more + 1 > largest_bytes)
    return Error{Fault::out_of_range, "the recording has reached the 4 GiB that a WAV file holds"};
  bytes_.resize(static_cast<std::size_t>(more));
  unsigned char* at = bytes_.data();
  for (const float x : interleaved) {
    constexpr double full = 8388608.0;
    const double scaled = std::clamp(static_cast<double>(x) * full, -full, full - 1.0);
    put(at, static_cast<std::uint32_t>(std::isfinite(scaled) ? std::lrint(scaled) : 0), 3);
    at += sample_bytes;
  }
  if (!write_all(descriptor_, bytes_.data(), bytes_.size(), header_bytes + before)) return failed();
  frames_ += static_cast<std::int64_t>(interleaved.size() / width);
  return Done{};
}

Outcome GrowingWav::keep() {
  // A header that runs ahead of its samples after a power cut is told by the file's length.
  if (const auto written = write_header(frames_); !written) return written;
  if (fdatasync(descriptor_) != 0) return failed();
  kept_frames_ = frames_;
  return Done{};
}

Outcome GrowingWav::cut(std::int64_t frames) {
  EXPECTS(frames >= 0 && frames <= frames_);
  frames_ = frames;
  if (ftruncate(descriptor_, header_bytes + frames * channels_ * sample_bytes) != 0)
    return failed();
  return keep();
}

Result<std::int64_t> mend_growing_wav(const std::string& path) {
  const auto size = container_size(path);
  if (!size) return size.error();
  if (size->kind != ContainerSize::Kind::riff)
    return Error{Fault::bad_input, path + ": is no recording of the bench"};
  if (size->promised_bytes == 0 || size->open_ended) return std::int64_t{0};
  const auto data = static_cast<std::int64_t>(std::min(size->promised_bytes, size->present_bytes));
  if (data == 0) return std::int64_t{0};
  const std::int64_t whole = header_bytes + data;
  std::error_code problem;
  if (static_cast<std::int64_t>(size->file_bytes) != whole)
    std::filesystem::resize_file(path, static_cast<std::uintmax_t>(whole), problem);
  if (problem) return Error{Fault::io, fmt::format("{}: {}", path, problem.message())};
  return whole;
}

}  // namespace goodside::intake
