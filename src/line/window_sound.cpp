#include "line/window_sound.hpp"

#include <filesystem>

#include "intake/wav_bytes.hpp"
#include "line/heard_through.hpp"

namespace goodside::line {
namespace {

constexpr int channels = 2;

std::string from(const std::string& folder, const std::string& path) {
  return (std::filesystem::path{folder} / path).string();
}

Result<std::optional<disc::Curve>> curve_of(const std::string& name) {
  if (name.empty()) return std::optional<disc::Curve>{};
  auto curve = disc::curve(name);
  if (!curve) return curve.error();
  return std::optional{*curve};
}

Result<listen::WindowSamples> samples_of(const std::string& folder,
                                         const std::string& capture,
                                         const std::optional<KeptTrack>& track,
                                         const listen::Window& window) {
  const auto curve = curve_of(track ? track->equalise : "");
  if (!curve) return curve.error();
  const auto heard = open_heard(from(folder, capture), *curve);
  if (!heard) return heard.error();
  if (!track) return listen::window_audio(**heard, window);
  const auto cut =
      open_heard(from(folder, track->reference), track->reference_played ? *curve : std::nullopt);
  if (!cut) return cut.error();
  return listen::window_audio(**heard, **cut, track->kept, window);
}

}  // namespace

Result<WindowSound> window_sound(const std::string& folder,
                                 const std::string& capture,
                                 const std::optional<KeptTrack>& track,
                                 const listen::Window& window) {
  const auto samples = samples_of(folder, capture, track, window);
  if (!samples) return samples.error();
  WindowSound sound;
  for (const auto& [pairs, into] : {std::pair{&samples->capture, &sound.capture},
                                    {&samples->cut, &sound.cut},
                                    {&samples->difference, &sound.difference}}) {
    if (pairs->empty()) continue;
    auto wav = intake::wav_bytes(*pairs, static_cast<int>(listen::window_rate_Hz), channels);
    if (!wav) return wav.error();
    *into = std::move(*wav);
  }
  return sound;
}

}  // namespace goodside::line
