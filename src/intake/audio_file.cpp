#include "intake/audio_file.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <optional>
#include <system_error>
#include <utility>
#include <vector>

#include "base/expects.hpp"
#include "intake/container_size.hpp"
#include "intake/digest.hpp"
#include "signal/pcm.hpp"

namespace goodside::intake {
namespace {

constexpr int lowest_rate_Hz = 8000, highest_rate_Hz = 192000;
// A float file on the scale of 16- or 24-bit integers passes this within a few samples; honest
// captures pass full scale by a few dB at most.
constexpr float largest_magnitude = 1000.0F;

using Handle = std::unique_ptr<SNDFILE, int (*)(SNDFILE*)>;

Error bad(std::string text) {
  return {Fault::bad_input, std::move(text)};
}

bool holds_floats(int format) {
  const int coding = format & SF_FORMAT_SUBMASK;
  return coding == SF_FORMAT_FLOAT || coding == SF_FORMAT_DOUBLE;
}

/// Index of the first sample that is NaN, infinite or absurdly large. The first loop has no branch,
/// so that the compiler turns it into vector code; it costs little beside the reading.
std::optional<std::size_t> first_absurd(std::span<const float> samples) {
  constexpr auto limit_bits = std::bit_cast<std::uint32_t>(largest_magnitude);
  const auto is_absurd = [](float x) {
    return (std::bit_cast<std::uint32_t>(x) & 0x7FFFFFFFU) > limit_bits;
  };
  std::uint32_t found = 0;
  for (const float x : samples) found |= static_cast<std::uint32_t>(is_absurd(x));
  if (found == 0) return {};
  const auto place = std::find_if(samples.begin(), samples.end(), is_absurd);
  return static_cast<std::size_t>(place - samples.begin());
}

/// Bytes of a sample that stands in the file as two or three of them, the lowest first, as most recorders write it;
/// 0 of any other coding.
int packed_bytes(SNDFILE* file, int format) {
  const int container = format & SF_FORMAT_TYPEMASK;
  const bool plain = container == SF_FORMAT_WAV || container == SF_FORMAT_WAVEX ||
                     container == SF_FORMAT_RF64 || container == SF_FORMAT_W64;
  if (!plain || std::endian::native != std::endian::little ||
      sf_command(file, SFC_RAW_DATA_NEEDS_ENDSWAP, nullptr, 0) != SF_FALSE)
    return 0;
  const int coding = format & SF_FORMAT_SUBMASK;
  return coding == SF_FORMAT_PCM_16 ? 2 : coding == SF_FORMAT_PCM_24 ? 3 : 0;
}

class AudioFileSource final : public signal::SampleSource {
 public:
  AudioFileSource(Handle file, const SF_INFO& info, std::string path)
      : file_{std::move(file)},
        path_{std::move(path)},
        rate_Hz_{info.samplerate},
        channels_{info.channels},
        frames_{info.frames},
        packed_bytes_{packed_bytes(file_.get(), info.format)},
        checks_values_{holds_floats(info.format)} {}

  double sample_rate_Hz() const override { return rate_Hz_; }
  int channels() const override { return channels_; }
  std::int64_t frames() const override { return frames_; }

  Outcome read(std::int64_t from, std::span<float> interleaved) override {
    const auto width = static_cast<std::size_t>(channels_);
    EXPECTS(interleaved.size() % width == 0);
    const auto wanted = static_cast<std::int64_t>(interleaved.size() / width);
    // Written so that no sum can overflow, wherever the caller asks.
    const std::int64_t before = from < 0 ? (from <= -wanted ? wanted : -from) : 0;
    const std::int64_t first = from < 0 ? 0 : from;
    const std::int64_t inside = first >= frames_ ? 0 : std::min(wanted - before, frames_ - first);

    const auto body = interleaved.subspan(static_cast<std::size_t>(before) * width,
                                          static_cast<std::size_t>(inside) * width);
    std::fill(interleaved.begin(), interleaved.begin() + before * channels_, 0.0F);
    std::fill(interleaved.begin() + (before + inside) * channels_, interleaved.end(), 0.0F);
    if (inside == 0) return Done{};

    if (auto outcome = fetch(first, body); !outcome) return outcome;
    return checks_values_ ? check(first, body) : Outcome{Done{}};
  }

  Result<std::unique_ptr<SampleSource>> again() const override { return open_audio(path_); }

 private:
  Outcome fetch(std::int64_t first, std::span<float> body) {
    const auto count = static_cast<std::int64_t>(body.size()) / channels_;
    if (position_ != first && sf_seek(file_.get(), first, SEEK_SET) != first) {
      position_ = -1;
      return breaks_off(first);
    }
    const sf_count_t got =
        packed_bytes_ > 0 ? read_packed(body) : sf_readf_float(file_.get(), body.data(), count);
    // A damaged FLAC frame comes back as silence with an error set; a short one as a short read
    // without any.
    if (got != count || sf_error(file_.get()) != SF_ERR_NO_ERROR) {
      position_ = -1;
      return breaks_off(first + std::clamp<sf_count_t>(got, 0, count));
    }
    position_ = first + count;
    return Done{};
  }

  /// Integers as they stand in the file, a stretch at a time that stays in the nearer cache: the library itself would
  /// read and convert them by the thousand. Frames read.
  sf_count_t read_packed(std::span<float> body) {
    constexpr std::size_t stretch = 32768;
    const auto width = static_cast<std::size_t>(packed_bytes_);
    std::size_t done = 0;
    while (done < body.size()) {
      const auto part = body.subspan(done, std::min(stretch, body.size() - done));
      packed_.resize(part.size() * width);
      const sf_count_t got = sf_read_raw(file_.get(), packed_.data(), std::ssize(packed_));
      if (got != std::ssize(packed_))
        return (std::ssize(body.first(done)) + std::max<sf_count_t>(got, 0) / packed_bytes_) /
               channels_;
      packed_bytes_ == 2 ? signal::unpack_16_bits(packed_, part)
                         : signal::unpack_24_bits(packed_, part);
      done += part.size();
    }
    return static_cast<sf_count_t>(done) / channels_;
  }

  Outcome check(std::int64_t first, std::span<const float> body) const {
    const auto place = first_absurd(body);
    if (!place) return Done{};
    const auto frame = first + static_cast<std::int64_t>(*place) / channels_;
    const double at_s = static_cast<double>(frame) / rate_Hz_;
    const float value = body[*place];
    if (std::isfinite(value))
      return bad(
          fmt::format("{}: the sample at {:.6f} s is {:.3g} times full scale; save the recording "
                      "again with full "
                      "scale at 1",
                      path_,
                      at_s,
                      std::abs(static_cast<double>(value))));
    return bad(
        fmt::format("{}: the sample at {:.6f} s is {}; save the recording again from its source",
                    path_,
                    at_s,
                    std::isnan(value) ? "not a number (NaN)" : "infinite"));
  }

  Outcome breaks_off(std::int64_t at) const {
    return Error{
        Fault::io,
        fmt::format("{}: reading breaks off near {:.3f} s of {:.3f} s; the file is damaged or cut "
                    "short, copy it again",
                    path_,
                    static_cast<double>(at) / rate_Hz_,
                    static_cast<double>(frames_) / rate_Hz_)};
  }

  Handle file_;
  std::string path_;
  int rate_Hz_, channels_;
  std::int64_t frames_;
  int packed_bytes_;
  std::vector<unsigned char> packed_;
  bool checks_values_;
  std::int64_t position_{0};  ///< of the next sample that libsndfile would give; -1 when unknown
};

/// What can be said before libsndfile sees the file.
Outcome is_a_full_file(const std::string& path) {
  std::error_code problem;
  const auto status = std::filesystem::status(path, problem);
  if (status.type() == std::filesystem::file_type::not_found)
    return Error{Fault::not_found, path + ": there is no such file; check the name and the folder"};
  if (problem)
    return Error{
        Fault::io,
        fmt::format("{}: cannot be reached ({}); see to its permissions", path, problem.message())};
  if (std::filesystem::is_directory(status))
    return bad(path + ": this is a folder; name one recording in it");
  if (!std::filesystem::is_regular_file(status))
    return bad(path + ": this is a pipe or a device; record into a file first and name that");
  const auto bytes = std::filesystem::file_size(path, problem);
  if (!problem && bytes == 0)
    return bad(path + ": the file is empty (0 bytes); record or copy it again");
  return Done{};
}

/// What the chunk sizes say: libsndfile would silently read less than was recorded.
Outcome is_whole(const std::string& path, const ContainerSize& size) {
  constexpr double megabyte = 1e6, gigabyte = 1e9;
  if (size.wrapped)
    return bad(
        fmt::format("{}: {:.2f} GB in a container whose size field ends at 4.29 GB and has "
                    "wrapped; record or convert to "
                    "RF64 or W64",
                    path,
                    static_cast<double>(size.file_bytes) / gigabyte));
  if (size.open_ended)
    return bad(
        path +
        ": the recorder never wrote the length into the header; open the file in the recorder and "
        "save it again");
  if (size.present_bytes < size.promised_bytes)
    return bad(
        fmt::format("{}: broken off, {:.3f} MB of samples are there and the header promises {:.3f} "
                    "MB; copy the file "
                    "again or save it anew from the recorder",
                    path,
                    static_cast<double>(size.present_bytes) / megabyte,
                    static_cast<double>(size.promised_bytes) / megabyte));
  return Done{};
}

constexpr const char* no_samples =
    ": a header without samples; record again, or save it anew from the recorder";

Outcome is_supported(const std::string& path, const SF_INFO& info) {
  if ((info.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_RAW)
    return bad(path + ": bare samples without a header; give WAV, RF64, W64 or FLAC");
  if (info.channels < 1 || info.channels > 2)
    return bad(fmt::format(
        "{}: {} channels; give one or two, left and right of the pickup", path, info.channels));
  if (info.samplerate < lowest_rate_Hz || info.samplerate > highest_rate_Hz)
    return bad(fmt::format(
        "{}: {} samples a second; give 8 to 192 kHz, best 96 kHz", path, info.samplerate));
  if (info.frames <= 0) return bad(path + no_samples);
  // 24 days at 192 kHz: beyond it the count is no count but "unknown", or damage.
  constexpr std::int64_t most_frames = 400'000'000'000;
  if (info.frames > most_frames || info.seekable == SF_FALSE)
    return bad(path +
               ": the header does not say how long the recording is; convert it anew from a file");
  return Done{};
}

bool frame_is_there(SNDFILE* file, std::int64_t frame) {
  float sample[2] = {};
  return sf_seek(file, frame, SEEK_SET) == frame && sf_readf_float(file, sample, 1) == 1 &&
         sf_error(file) == SF_ERR_NO_ERROR;
}

/// How much of a file without its end can still be read, to a tenth of a second, by halving.
double readable_s(const std::string& path, const SF_INFO& whole) {
  std::int64_t good = 0, bad_from = whole.frames;
  while (bad_from - good > whole.samplerate / 10) {
    // A decoder that failed to seek may not recover, so that each look takes a fresh one.
    SF_INFO info{};
    const Handle file{sf_open(path.c_str(), SFM_READ, &info), &sf_close};
    if (!file) break;
    const std::int64_t middle = good + (bad_from - good) / 2;
    (frame_is_there(file.get(), middle) ? good : bad_from) = middle;
  }
  return static_cast<double>(good) / whole.samplerate;
}

}  // namespace

Result<std::unique_ptr<signal::SampleSource>> open_audio(const std::string& path) {
  if (auto outcome = is_a_full_file(path); !outcome) return outcome.error();
  const auto size = container_size(path);
  if (!size) return size.error();
  // The chunk sizes explain more than libsndfile does, so they speak first where they have
  // something to say.
  if (auto outcome = is_whole(path, *size); !outcome) return outcome.error();

  SF_INFO info{};
  Handle file{sf_open(path.c_str(), SFM_READ, &info), &sf_close};
  if (!file) {
    if (size->kind != ContainerSize::Kind::other && size->promised_bytes == 0)
      return bad(path + no_samples);
    if (size->kind != ContainerSize::Kind::other)
      return bad(path +
                 ": a header whose rate, channels or coding make no sense; save it anew from the "
                 "recorder as WAV, RF64, W64 or FLAC");
    return bad(path + ": not audio that can be read; give WAV, RF64, W64 or FLAC");
  }
  if (auto outcome = is_supported(path, info); !outcome) return outcome.error();
  // A cut-short FLAC opens like a whole one, and reading it stops early without an error: look at
  // its end.
  if (!frame_is_there(file.get(), info.frames - 1) || sf_seek(file.get(), 0, SEEK_SET) != 0)
    return bad(
        fmt::format("{}: broken off or damaged, {:.1f} s of {:.1f} s can be read; copy the file "
                    "again or save it anew "
                    "from the recorder",
                    path,
                    readable_s(path, info),
                    static_cast<double>(info.frames) / info.samplerate));
  return std::unique_ptr<signal::SampleSource>{
      std::make_unique<AudioFileSource>(std::move(file), info, path)};
}

Result<works::AudioFile> identify(const std::string& path, const signal::SampleSource& source) {
  auto sha256 = sha256_of_file(path);
  if (!sha256) return sha256.error();
  return works::AudioFile{
      .path = path,
      .sample_rate_Hz = source.sample_rate_Hz(),
      .channels = source.channels(),
      .duration_s = static_cast<double>(source.frames()) / source.sample_rate_Hz(),
      .sha256 = std::move(*sha256)};
}

}  // namespace goodside::intake
