#include "listen/lay_cut.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <utility>

#include "signal/half_band.hpp"

namespace goodside::listen {
namespace {

/// Half the taps of the warp: a cut at 88.2 kHz and more has its audible band far from half its rate.
std::size_t kernel_half(double reference_rate_Hz) {
  return reference_rate_Hz > 80000.0 ? 12 : 16;
}

}  // namespace

const FollowedStretch* stretch_at(const SideTrack& track, double capture_s) {
  for (const FollowedStretch& stretch : track.stretches)
    if (capture_s >= stretch.capture_from_s && capture_s < stretch.capture_to_s) return &stretch;
  return nullptr;
}

double calm_at(const SideTrack& track, double capture_s) {
  const FollowedStretch* stretch = stretch_at(track, capture_s);
  if (stretch == nullptr) return 0.0;
  const double u = (capture_s - stretch->track.capture_from_s) / track_hop_s;
  const auto last = static_cast<double>(stretch->calm.size() - 1);
  double calm = 1.0;
  for (double k = std::floor(u - 2.0); k <= u + 2.0; ++k)
    if (k >= 0.0 && k <= last)
      calm = std::min(calm, static_cast<double>(stretch->calm[static_cast<std::size_t>(k)]));
  return calm;
}

std::size_t reference_factor(double reference_rate_Hz, double listening_rate_Hz) {
  return std::max(listening_factor(reference_rate_Hz),
                  static_cast<std::size_t>(
                      std::max(1.0, std::floor(reference_rate_Hz / listening_rate_Hz + 1e-9))));
}

CutLayer::CutLayer(std::unique_ptr<PieceReader> capture,
                   std::unique_ptr<PieceReader> reference,
                   const SideTrack& track,
                   bool mono)
    : capture_{std::move(capture)},
      reference_{std::move(reference)},
      track_{track},
      mono_{mono},
      warp_{std::min(0.5, 0.495 * capture_->rate_Hz() / reference_->rate_Hz()),
            kernel_half(reference_->rate_Hz())} {}

Outcome CutLayer::lay(std::int64_t first,
                      std::size_t count,
                      LaidPiece& piece,
                      StereoSamples& storage) {
  if (auto read = read_capture(first, count, piece); !read) return read;
  if (auto warped = warp_cut(piece, storage); !warped) return warped;
  read_groove(reading_, piece);
  match(piece);
  return Done{};
}

Outcome CutLayer::try_readings(std::int64_t first,
                               std::size_t count,
                               std::span<const GrooveReading> readings,
                               std::span<Leftover> left) {
  LaidPiece piece;
  StereoSamples storage;
  if (auto read = read_capture(first, count, piece); !read) return read;
  if (auto warped = warp_cut(piece, storage); !warped) return warped;
  const StereoSamples as_cut = piece.warped;
  for (std::size_t k = 0; k < readings.size(); ++k) {
    piece.warped = as_cut;
    read_groove(readings[k], piece);
    match(piece);
    for (std::size_t i = 0; i < 2; ++i)
      for (std::size_t j = 0; j < count; ++j)
        piece.prediction[i][j] = piece.capture[i][j] - piece.prediction[i][j];
    left[k].add(piece.prediction, rate_Hz());
  }
  return Done{};
}

void CutLayer::read_groove(const GrooveReading& reading, LaidPiece& piece) {
  for (auto& channel : piece.bend) channel.clear();
  if (mono_ || (reading.limiting == 0.0 && reading.strength_m2 == 0.0)) return;
  for (std::size_t i = 0; i < 2; ++i) signal::double_rate(piece.warped[i], groove_[i]);
  if (reading.limiting != 0.0) limit_cut(groove_, reading.limiting, piece.bend, storage_);
  if (reading.strength_m2 != 0.0) trace_groove(reading, piece);
  for (std::size_t i = 0; i < 2; ++i) signal::halve_rate(groove_[i], piece.warped[i]);
}

void CutLayer::trace_groove(const GrooveReading& reading, LaidPiece& piece) {
  const double middle_s =
      (static_cast<double>(piece.first) + 0.5 * static_cast<double>(piece.capture[0].size())) /
      rate_Hz();
  const FollowedStretch* stretch = stretch_at(track_, middle_s);
  if (stretch == nullptr) stretch = &track_.stretches.front();
  const double speed_m_per_s = reading.speed_m_per_s(stretch->curve.programme_at(middle_s));
  const double groove_rate_Hz = rate_Hz() * static_cast<double>(groove_oversampling);
  trace_cut(groove_, {reading.strength_m2, speed_m_per_s, groove_rate_Hz}, piece.bend, storage_);
}

Outcome CutLayer::read_capture(std::int64_t first, std::size_t count, LaidPiece& piece) {
  piece.first = first;
  for (auto& channel : piece.capture) channel.resize(count);
  if (auto read = capture_->read(first, piece.capture[0], piece.capture[1]); !read) return read;
  if (track_.swapped) std::swap(piece.capture[0], piece.capture[1]);
  if (track_.polarity < 0)
    for (auto& channel : piece.capture)
      for (float& sample : channel) sample = -sample;
  return Done{};
}

void CutLayer::match(LaidPiece& piece) const {
  match_player(
      piece.capture,
      piece.warped,
      mono_,
      rate_Hz(),
      [&](double t_s) { return trust(piece, t_s); },
      piece.prediction);
}

double CutLayer::trust(const LaidPiece& piece, double t_s) const {
  return calm_at(track_, static_cast<double>(piece.first) / rate_Hz() + t_s);
}

Outcome CutLayer::warp_cut(LaidPiece& piece, StereoSamples& storage) {
  const double reference_rate_Hz = reference_->rate_Hz();
  const std::size_t channels = mono_ ? 1 : 2;
  const std::size_t count = piece.capture[0].size();
  for (std::size_t i = 0; i < channels; ++i) piece.warped[i].assign(count, 0.0F);
  for (const FollowedStretch& stretch : track_.stretches) {
    const auto from = std::max(
        piece.first, static_cast<std::int64_t>(std::llround(stretch.capture_from_s * rate_Hz())));
    const auto to =
        std::min(piece.first + static_cast<std::int64_t>(count),
                 static_cast<std::int64_t>(std::llround(stretch.capture_to_s * rate_Hz())));
    if (to <= from) continue;
    const double programme_from_s =
        stretch.curve.programme_at(static_cast<double>(from) / rate_Hz());
    const double programme_to_s = stretch.curve.programme_at(static_cast<double>(to) / rate_Hz());
    const auto half = static_cast<std::int64_t>(warp_.half()) + 8;
    const auto first =
        static_cast<std::int64_t>(std::floor(programme_from_s * reference_rate_Hz)) - half;
    const auto known = static_cast<std::size_t>(
        std::max(0.0, (programme_to_s - programme_from_s) * reference_rate_Hz) +
        static_cast<double>(2 * half + 8));
    for (auto& channel : storage) channel.resize(known);
    if (auto read = reference_->read(first, storage[0], storage[1]); !read) return read;
    if (mono_)
      for (std::size_t j = 0; j < known; ++j)
        storage[0][j] = 0.5F * (storage[0][j] + storage[1][j]);
    const std::array<std::span<const float>, 2> sources{storage[0], storage[1]};
    const auto offset = static_cast<std::size_t>(from - piece.first);
    const auto width = static_cast<std::size_t>(to - from);
    std::array<std::span<float>, 2> targets{std::span{piece.warped[0]}.subspan(offset, width), {}};
    if (!mono_) targets[1] = std::span{piece.warped[1]}.subspan(offset, width);
    stretch.curve.warp(warp_,
                       {sources.data(), channels},
                       static_cast<double>(first),
                       reference_rate_Hz,
                       from,
                       rate_Hz(),
                       {targets.data(), channels});
  }
  return Done{};
}

}  // namespace goodside::listen
