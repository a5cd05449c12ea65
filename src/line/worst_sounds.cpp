#include "line/worst_sounds.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <utility>

#include "draw/words.hpp"
#include "intake/wav_bytes.hpp"
#include "line/heard_through.hpp"

namespace goodside::line {
namespace {

constexpr double before_s = 0.8;   // of the fault, so that the ear is in the music
constexpr double about_s = 0.005;  // of the fault, where its channels are compared

/// Two seconds that hold the fault, within the recording where that is long enough.
listen::Window window_of(const works::FaultEvent& fault, double capture_length_s) {
  const double latest_s = std::max(0.0, capture_length_s - sound_length_s);
  const double from_s = std::clamp(fault.capture_s - before_s, 0.0, latest_s);
  return {from_s, from_s + sound_length_s};
}

/// The faults to be heard, worst first; no two in one window, and one of a pattern stands for all of it.
std::vector<std::size_t> chosen(const works::ListeningReport& report) {
  std::vector<std::size_t> all;
  for (const std::size_t index : draw::worst_first(report.faults)) {
    const auto& fault = report.faults[index];
    const bool heard = std::ranges::any_of(all, [&](std::size_t chosen_one) {
      const auto& other = report.faults[chosen_one];
      return (fault.pattern && other.pattern == fault.pattern) ||
             std::abs(other.capture_s - fault.capture_s) < sound_length_s - before_s;
    });
    if (!heard) all.push_back(index);
    if (all.size() == most_sounds) break;
  }
  return all;
}

/// 0 left, 1 right.
std::size_t louder_channel(const std::vector<float>& pairs,
                           const works::FaultEvent& fault,
                           double from_s) {
  if (fault.channel != works::FaultChannel::both)
    return fault.channel == works::FaultChannel::left ? 0 : 1;
  const auto frames = static_cast<double>(pairs.size()) / 2.0;
  const auto frame_at = [&](double capture_s) {
    return static_cast<std::size_t>(
        std::clamp((capture_s - from_s) * listen::window_rate_Hz, 0.0, frames));
  };
  std::array<double, 2> energy{};
  for (std::size_t n = frame_at(fault.capture_s - about_s),
                   end = frame_at(fault.capture_s + fault.duration_s + about_s);
       n < end;
       ++n)
    for (std::size_t c = 0; c < 2; ++c)
      energy[c] += static_cast<double>(pairs[2 * n + c] * pairs[2 * n + c]);
  return energy[1] > energy[0] ? 1 : 0;
}

Result<std::string> channel_wav(const std::vector<float>& pairs, std::size_t channel) {
  std::vector<float> samples;
  samples.reserve(pairs.size() / 2);
  for (std::size_t at = channel; at < pairs.size(); at += 2) samples.push_back(pairs[at]);
  return intake::wav_bytes(samples, static_cast<int>(listen::window_rate_Hz));
}

/// The two recordings; no reference where nothing was kept of one.
struct Sources {
  std::unique_ptr<signal::SampleSource> capture, reference;
};

/// `reference` is null where nothing was kept of one.
Result<Sources> open_both(const Hearing& hearing, const works::Reference* reference_heard) {
  Sources sources;
  auto capture = open_heard(hearing.capture, hearing.equalise);
  if (!capture) return capture.error();
  sources.capture = std::move(*capture);
  if (reference_heard != nullptr) {
    auto reference =
        open_heard(hearing.reference,
                   works::was_played(reference_heard->kind) ? hearing.equalise : std::nullopt);
    if (!reference) return reference.error();
    sources.reference = std::move(*reference);
  }
  return sources;
}

Result<draw::FaultSound> sound_of(const Sources& sources,
                                  const works::ListeningReport& report,
                                  std::size_t index,
                                  const std::optional<listen::Kept>& kept) {
  const auto& fault = report.faults[index];
  const listen::Window window = window_of(fault, report.capture.duration_s);
  const auto heard = kept
                         ? listen::window_audio(*sources.capture, *sources.reference, *kept, window)
                         : listen::window_audio(*sources.capture, window);
  if (!heard) return heard.error();
  const std::size_t channel =
      louder_channel(kept ? heard->difference : heard->capture, fault, window.from_s);
  draw::FaultSound sound{.fault = index,
                         .from_s = window.from_s,
                         .to_s = window.to_s,
                         .channel = channel == 0 ? "left" : "right",
                         .capture = "",
                         .cut = "",
                         .difference = ""};
  for (const auto& [pairs, into] : {std::pair{&heard->capture, &sound.capture},
                                    {&heard->cut, &sound.cut},
                                    {&heard->difference, &sound.difference}}) {
    if (pairs->empty()) continue;
    auto wav = channel_wav(*pairs, channel);
    if (!wav) return wav.error();
    *into = std::move(*wav);
  }
  return sound;
}

}  // namespace

Result<std::vector<draw::FaultSound>> worst_sounds(const Hearing& hearing,
                                                   const works::ListeningReport& report,
                                                   const std::optional<listen::Kept>& kept) {
  const auto faults = chosen(report);
  std::vector<draw::FaultSound> sounds;
  if (faults.empty()) return sounds;
  const auto sources = open_both(hearing, kept ? &report.reference.value() : nullptr);
  if (!sources) return sources.error();
  for (const std::size_t index : faults) {
    auto sound = sound_of(*sources, report, index, kept);
    if (!sound) return sound.error();
    sounds.push_back(std::move(*sound));
  }
  return sounds;
}

}  // namespace goodside::line
