#include "listen/feature_matcher.hpp"

#include <algorithm>
#include <cmath>

#include "signal/clones.hpp"
#include "signal/fft.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t bands = Features::bands;
constexpr double least_peak = 0.15;
constexpr double peak_spacing = 30.0;

GOODSIDE_CLONES float dot(const float* a, const float* b, std::size_t count) {
  float sum = 0.0F;
#pragma omp simd reduction(+ : sum)
  for (std::size_t j = 0; j < count; ++j) sum += a[j] * b[j];
  return sum;
}

std::vector<double> running_energy(const Features& features) {
  std::vector<double> sums(features.frames() + 1);
  for (std::size_t k = 0; k < features.frames(); ++k) {
    double energy = 0.0;
    for (std::size_t b = 0; b < bands; ++b) {
      const auto value = static_cast<double>(features.values[k * bands + b]);
      energy += value * value;
    }
    sums[k + 1] = sums[k] + energy;
  }
  return sums;
}

double between(const std::vector<double>& sums, std::int64_t from, std::int64_t length) {
  const auto last = static_cast<std::int64_t>(sums.size()) - 1;
  const auto first = std::clamp<std::int64_t>(from, 0, last);
  const auto end = std::clamp<std::int64_t>(from + length, 0, last);
  return sums[static_cast<std::size_t>(end)] - sums[static_cast<std::size_t>(first)];
}

}  // namespace

double parabola_top(double before, double at, double after) {
  const double bend = before - 2.0 * at + after;
  return bend < 0.0 ? std::clamp(0.5 * (before - after) / bend, -0.5, 0.5) : 0.0;
}

FeatureMatcher::FeatureMatcher(const Features& capture, const Features& reference)
    : capture_{capture},
      reference_{reference},
      capture_energy_{running_energy(capture)},
      reference_energy_{running_energy(reference)} {}

FeatureMatcher::Index FeatureMatcher::capture_frames() const {
  return static_cast<Index>(capture_.frames());
}

FeatureMatcher::Index FeatureMatcher::reference_frames() const {
  return static_cast<Index>(reference_.frames());
}

double FeatureMatcher::capture_energy(Index from, Index length) const {
  return between(capture_energy_, from, length);
}

double FeatureMatcher::score(Index from, Index length, Index offset) const {
  const Index first = std::max<Index>(from, -offset);
  const Index last = std::min<Index>(from + length, reference_frames() - offset);
  if (last - first < (length * 3) / 5) return 0.0;
  const auto at = static_cast<std::size_t>(first) * bands;
  const auto there = static_cast<std::size_t>(first + offset) * bands;
  const float product = dot(capture_.values.data() + at,
                            reference_.values.data() + there,
                            static_cast<std::size_t>(last - first) * bands);
  return normalised(static_cast<double>(product), first, last - first, offset);
}

std::vector<FeaturePeak> FeatureMatcher::search(Index from, Index length, std::size_t most) {
  prepare(length);
  const signal::RealFft& fft = signal::shared_fft(size_);
  std::ranges::fill(product_, std::complex<float>{});
  for (std::size_t b = 0; b < bands; ++b) {
    std::ranges::fill(samples_, 0.0F);
    for (Index j = 0; j < length; ++j)
      samples_[static_cast<std::size_t>(j)] =
          capture_.values[static_cast<std::size_t>(from + j) * bands + b];
    fft.forward(samples_, spectrum_);
    const auto& known = reference_spectra_[b];
    for (std::size_t k = 0; k < product_.size(); ++k)
      product_[k] += known[k] * std::conj(spectrum_[k]);
  }
  fft.inverse(product_, samples_);

  const Index lowest = -(length * 2) / 5;
  const Index highest = std::max<Index>(lowest, reference_frames() - (length * 3) / 5);
  std::vector<double> scores(static_cast<std::size_t>(highest - lowest));
  for (Index at = lowest; at < highest; ++at) {
    const auto wrapped = static_cast<std::size_t>(at < 0 ? at + static_cast<Index>(size_) : at);
    const Index first = std::max<Index>(0, -at);
    const Index last = std::min<Index>(length, reference_frames() - at);
    scores[static_cast<std::size_t>(at - lowest)] =
        normalised(static_cast<double>(samples_[wrapped]) / static_cast<double>(size_),
                   from + first,
                   last - first,
                   at - from);
  }

  std::vector<FeaturePeak> peaks;
  for (std::size_t k = 1; k + 1 < scores.size(); ++k) {
    if (scores[k] < least_peak || scores[k] < scores[k - 1] || scores[k] <= scores[k + 1]) continue;
    peaks.push_back({static_cast<double>(from) + 0.5 * static_cast<double>(length),
                     static_cast<double>(static_cast<Index>(k) + lowest - from) +
                         parabola_top(scores[k - 1], scores[k], scores[k + 1]),
                     scores[k]});
  }
  std::ranges::sort(peaks, std::ranges::greater{}, &FeaturePeak::score);
  std::vector<FeaturePeak> kept;
  for (const FeaturePeak& peak : peaks) {
    if (kept.size() == most) break;
    const bool apart = std::ranges::all_of(kept, [&](const FeaturePeak& other) {
      return std::abs(other.offset - peak.offset) > peak_spacing;
    });
    if (apart) kept.push_back(peak);
  }
  return kept;
}

double FeatureMatcher::normalised(double product, Index from, Index length, Index offset) const {
  const double mean = reference_energy_.back() / static_cast<double>(reference_frames());
  const double least = 0.05 * mean * static_cast<double>(length);
  const double heard = between(capture_energy_, from, length);
  const double known = std::max(least, between(reference_energy_, from + offset, length));
  return heard > 0.0 && known > 0.0 ? product / std::sqrt(heard * known) : 0.0;
}

void FeatureMatcher::prepare(Index length) {
  std::size_t size = 1024;
  while (size < reference_.frames() + static_cast<std::size_t>(2 * length)) size *= 2;
  if (size == size_) return;
  size_ = size;
  const signal::RealFft& fft = signal::shared_fft(size_);
  samples_.assign(size_, 0.0F);
  spectrum_.assign(fft.bins(), {});
  product_.assign(fft.bins(), {});
  reference_spectra_.assign(bands, signal::Aligned<std::complex<float>>(fft.bins()));
  for (std::size_t b = 0; b < bands; ++b) {
    std::ranges::fill(samples_, 0.0F);
    for (std::size_t k = 0; k < reference_.frames(); ++k)
      samples_[k] = reference_.values[k * bands + b];
    fft.forward(samples_, reference_spectra_[b]);
  }
}

}  // namespace goodside::listen
