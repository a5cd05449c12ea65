#include "listen/window_audio.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <memory>
#include <span>
#include <utility>

#include "listen/lay_cut.hpp"
#include "signal/warp.hpp"

namespace goodside::listen {
namespace {

constexpr double about_s = 1.0;  // on both sides, for the player's transfer and the filters
constexpr double least_s = 3.0;  // laid in all

/// The samples that a window and what lies about it take of the capture.
struct Span {
  std::int64_t first{};
  std::size_t count{};
};

Outcome check(const Window& window) {
  const double length_s = window.to_s - window.from_s;
  if (std::isfinite(window.from_s) && length_s > 0.0 && length_s <= longest_window_s) return Done{};
  return Error{Fault::out_of_range,
               fmt::format("a window from {} s to {} s cannot be heard; use up to {:.0f} s",
                           window.from_s,
                           window.to_s,
                           longest_window_s)};
}

Span span_of(const Window& window, double rate_Hz) {
  const double about = std::max(about_s, 0.5 * (least_s - (window.to_s - window.from_s)));
  const auto first = static_cast<std::int64_t>(std::floor((window.from_s - about) * rate_Hz));
  const auto end = static_cast<std::int64_t>(std::ceil((window.to_s + about) * rate_Hz));
  return {first, static_cast<std::size_t>(end - first)};
}

/// The window of both channels at window_rate_Hz.
std::vector<float> at_window_rate(const StereoSamples& samples,
                                  std::int64_t first,
                                  double rate_Hz,
                                  const Window& window) {
  const auto count =
      static_cast<std::size_t>(std::llround((window.to_s - window.from_s) * window_rate_Hz));
  const signal::WarpReader reader{rate_Hz > window_rate_Hz ? 0.495 * window_rate_Hz / rate_Hz
                                                           : 0.5};
  std::array<std::vector<float>, 2> out{std::vector<float>(count), std::vector<float>(count)};
  const std::array<std::span<const float>, 2> from{samples[0], samples[1]};
  const std::array<std::span<float>, 2> to{out[0], out[1]};
  reader.read(
      from,
      {window.from_s * rate_Hz - static_cast<double>(first), rate_Hz / window_rate_Hz, 0.0, 0.0},
      to);
  std::vector<float> pairs(2 * count);
  for (std::size_t k = 0; k < count; ++k) {
    pairs[2 * k] = out[0][k];
    pairs[2 * k + 1] = out[1][k];
  }
  return pairs;
}

Result<std::unique_ptr<PieceReader>> reader_of(const signal::SampleSource& source,
                                               std::size_t factor) {
  auto again = source.again();
  if (!again) return again.error();
  return std::make_unique<PieceReader>(std::move(*again), factor);
}

}  // namespace

std::optional<double> programme_at(const Kept& kept, double capture_s) {
  for (const FollowedStretch& stretch : kept.track.stretches)
    if (stretch.capture_from_s <= capture_s && capture_s <= stretch.capture_to_s)
      return stretch.curve.programme_at(capture_s);
  return std::nullopt;
}

Result<WindowSamples> window_audio(const signal::SampleSource& capture, const Window& window) {
  if (const auto checked = check(window); !checked) return checked.error();
  auto reader = reader_of(capture, listening_factor(capture.sample_rate_Hz()));
  if (!reader) return reader.error();
  const double rate_Hz = (*reader)->rate_Hz();
  const Span span = span_of(window, rate_Hz);
  StereoSamples samples{signal::Aligned<float>(span.count), signal::Aligned<float>(span.count)};
  if (const auto read = (*reader)->read(span.first, samples[0], samples[1]); !read)
    return read.error();
  return WindowSamples{at_window_rate(samples, span.first, rate_Hz, window), {}, {}};
}

Result<WindowSamples> window_audio(const signal::SampleSource& capture,
                                   const signal::SampleSource& reference,
                                   const Kept& kept,
                                   const Window& window) {
  if (const auto checked = check(window); !checked) return checked.error();
  auto heard = reader_of(capture, listening_factor(capture.sample_rate_Hz()));
  if (!heard) return heard.error();
  const double rate_Hz = (*heard)->rate_Hz();
  auto cut = reader_of(reference, reference_factor(reference.sample_rate_Hz(), rate_Hz));
  if (!cut) return cut.error();
  CutLayer layer{std::move(*heard), std::move(*cut), kept.track, kept.mono};
  layer.read_with(kept.reading);
  const Span span = span_of(window, rate_Hz);
  LaidPiece piece;
  StereoSamples storage;
  if (const auto laid = layer.lay(span.first, span.count, piece, storage); !laid)
    return laid.error();
  std::vector<float> sound = at_window_rate(piece.capture, span.first, rate_Hz, window);
  std::vector<float> played_cut = at_window_rate(piece.prediction, span.first, rate_Hz, window);
  std::vector<float> difference(sound.size());
  std::ranges::transform(sound, played_cut, difference.begin(), std::minus<float>{});
  return WindowSamples{std::move(sound), std::move(played_cut), std::move(difference)};
}

}  // namespace goodside::listen
