#include "serve/sound_card.hpp"

#include <alsa/asoundlib.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <mutex>

namespace goodside::serve {
namespace {

// A disk or a busy computer may keep the reader away for so long before sound is lost.
constexpr unsigned buffer_us = 1'000'000, period_us = 50'000;
constexpr int longest_wait_ms = 500;
constexpr int least_rate_Hz = 22'050, most_rate_Hz = 192'000;

/// The library would write to standard error what is told as an Error here.
void say_nothing(const char*, int, const char*, int, const char*, ...) {}

void be_quiet() {
  static std::once_flag once;
  std::call_once(once, [] { snd_lib_error_set_handler(say_nothing); });
}

struct Close {
  void operator()(snd_pcm_t* pcm) const { snd_pcm_close(pcm); }
};
using Pcm = std::unique_ptr<snd_pcm_t, Close>;

/// How one sample lies in memory.
struct Coding {
  snd_pcm_format_t format;
  std::size_t bytes;
  int bits;  ///< of them, the low ones
};
constexpr std::array codings{Coding{SND_PCM_FORMAT_S32_LE, 4, 32},
                             Coding{SND_PCM_FORMAT_S24_LE, 4, 24},
                             Coding{SND_PCM_FORMAT_S24_3LE, 3, 24},
                             Coding{SND_PCM_FORMAT_S16_LE, 2, 16}};

float sample_of(const unsigned char* at, const Coding& coding) {
  std::uint32_t bits = 0;
  for (std::size_t k = 0; k < coding.bytes; ++k) bits |= std::uint32_t{at[k]} << (8 * k);
  const auto shifted = static_cast<std::int32_t>(bits << (32 - coding.bits));
  return static_cast<float>(static_cast<double>(shifted) * 0x1p-31);
}

class AlsaCard final : public SoundCard {
 public:
  AlsaCard(Pcm pcm, const Format& format, const Coding& coding)
      : pcm_{std::move(pcm)}, format_{format}, coding_{coding} {}

  [[nodiscard]] Format format() const override { return format_; }

  Result<Taken> take(std::span<float> interleaved) override {
    const auto width = static_cast<std::size_t>(format_.channels);
    const std::size_t room = interleaved.size() / width;
    bytes_.resize(room * width * coding_.bytes);
    if (const int ready = snd_pcm_wait(pcm_.get(), longest_wait_ms); ready == 0) return Taken{};
    const auto got = snd_pcm_readi(pcm_.get(), bytes_.data(), room);
    if (got == -EAGAIN || got == -EINTR) return Taken{};
    if (got == -EPIPE || got == -ESTRPIPE) return go_on();
    if (got < 0)
      return Error{
          Fault::io,
          fmt::format("the audio interface is gone ({})", snd_strerror(static_cast<int>(got)))};
    const auto frames = static_cast<std::size_t>(got);
    for (std::size_t k = 0; k < frames * width; ++k)
      interleaved[k] = sample_of(bytes_.data() + k * coding_.bytes, coding_);
    return Taken{.frames = frames};
  }

 private:
  Result<Taken> go_on() {
    int problem = snd_pcm_prepare(pcm_.get());
    if (problem >= 0) problem = snd_pcm_start(pcm_.get());
    if (problem < 0)
      return Error{Fault::io,
                   fmt::format("the audio interface is gone ({})", snd_strerror(problem))};
    return Taken{.overrun = true};
  }

  Pcm pcm_;
  Format format_;
  Coding coding_;
  std::vector<unsigned char> bytes_;
};

Error cannot(const std::string& name, int problem) {
  const Fault fault = problem == -ENOENT || problem == -ENODEV || problem == -ENXIO
                          ? Fault::not_found
                      : problem == -EBUSY ? Fault::conflict
                                          : Fault::io;
  const char* const mend =
      fault == Fault::not_found  ? "see that it is plugged in, and choose from the list"
      : fault == Fault::conflict ? "end the program that uses it"
                                 : "see that this account may use it (group audio)";
  return {fault,
          fmt::format("{} cannot be recorded from ({}); {}", name, snd_strerror(problem), mend)};
}

Error no_way(const std::string& name, const char* what) {
  return {
      Fault::bad_input,
      fmt::format(
          "{} cannot record {}; choose its name with \"plughw:\" or another device", name, what)};
}

std::string hint_of(const void* hint, const char* which) {
  char* const text = snd_device_name_get_hint(hint, which);
  std::string out = text == nullptr ? "" : text;
  std::free(text);  // NOLINT: the library's
  std::ranges::replace(out, '\n', ' ');
  return out;
}

}  // namespace

std::vector<SoundDevice> sound_devices() {
  be_quiet();
  std::vector<SoundDevice> devices;
  void** hints = nullptr;
  if (snd_device_name_hint(-1, "pcm", &hints) < 0) return devices;
  for (void** hint = hints; *hint != nullptr; ++hint) {
    SoundDevice device{hint_of(*hint, "NAME"), hint_of(*hint, "DESC")};
    const std::string way = hint_of(*hint, "IOID");
    if (way != "Output" && !device.name.empty() && device.name != "null")
      devices.push_back(std::move(device));
  }
  snd_device_name_free_hint(hints);
  return devices;
}

Result<std::unique_ptr<SoundCard>> open_sound_card(const std::string& name, int sample_rate_Hz) {
  be_quiet();
  if (name.empty() || name.size() > 200)
    return Error{Fault::bad_input, "device: choose one from the list"};
  if (sample_rate_Hz < least_rate_Hz || sample_rate_Hz > most_rate_Hz)
    return Error{Fault::bad_input,
                 fmt::format("rate_Hz: give {} to {}", least_rate_Hz, most_rate_Hz)};
  snd_pcm_t* opened = nullptr;
  if (const int problem =
          snd_pcm_open(&opened, name.c_str(), SND_PCM_STREAM_CAPTURE, SND_PCM_NONBLOCK);
      problem < 0)
    return cannot(name, problem);
  Pcm pcm{opened};
  snd_pcm_hw_params_t* asked = nullptr;
  if (snd_pcm_hw_params_malloc(&asked) < 0) return Error{Fault::io, "out of memory"};
  const std::unique_ptr<snd_pcm_hw_params_t, decltype(&snd_pcm_hw_params_free)> held{
      asked, snd_pcm_hw_params_free};
  if (const int problem = snd_pcm_hw_params_any(opened, asked); problem < 0)
    return cannot(name, problem);
  // A rate that the system would make up is no better than the card's own.
  snd_pcm_hw_params_set_rate_resample(opened, asked, 0);
  if (snd_pcm_hw_params_set_access(opened, asked, SND_PCM_ACCESS_RW_INTERLEAVED) < 0)
    return no_way(name, "interleaved channels");
  const auto coding = std::ranges::find_if(codings, [&](const Coding& one) {
    return snd_pcm_hw_params_set_format(opened, asked, one.format) >= 0;
  });
  if (coding == codings.end()) return no_way(name, "16, 24 or 32 bits");
  SoundCard::Format format{.sample_rate_Hz = sample_rate_Hz, .channels = 2};
  if (snd_pcm_hw_params_set_channels(opened, asked, 2) < 0) {
    format.channels = 1;
    if (snd_pcm_hw_params_set_channels(opened, asked, 1) < 0)
      return no_way(name, "one or two channels");
  }
  auto rate = static_cast<unsigned>(sample_rate_Hz);
  if (snd_pcm_hw_params_set_rate_near(opened, asked, &rate, nullptr) < 0 ||
      rate < static_cast<unsigned>(least_rate_Hz) || rate > static_cast<unsigned>(most_rate_Hz))
    return no_way(name, "at 22.05 to 192 kHz");
  format.sample_rate_Hz = static_cast<int>(rate);
  unsigned buffer = buffer_us, period = period_us;
  snd_pcm_hw_params_set_buffer_time_near(opened, asked, &buffer, nullptr);
  snd_pcm_hw_params_set_period_time_near(opened, asked, &period, nullptr);
  if (const int problem = snd_pcm_hw_params(opened, asked); problem < 0)
    return cannot(name, problem);
  if (const int problem = snd_pcm_start(opened); problem < 0) return cannot(name, problem);
  return std::unique_ptr<SoundCard>{std::make_unique<AlsaCard>(std::move(pcm), format, *coding)};
}

}  // namespace goodside::serve
