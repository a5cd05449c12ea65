#include "signal/sinc_reader.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::signal {
namespace {

constexpr int phase_count = 1024;
constexpr double taps_at_full_band = 64.0;
constexpr double kaiser_beta = 10.06;
constexpr std::int64_t window_frames = 16384;

double sinc(double x) {
  if (std::abs(x) < 1e-9) return 1.0;
  return std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
}

/// Eight running sums: the order is fixed, and the compiler may keep them in one register.
float dot(const float* a, const float* b, int count) {
  float sums[8] = {};
  for (int k = 0; k < count; k += 8)
    for (int lane = 0; lane < 8; ++lane) sums[lane] += a[k + lane] * b[k + lane];
  return ((sums[0] + sums[4]) + (sums[1] + sums[5])) + ((sums[2] + sums[6]) + (sums[3] + sums[7]));
}

}  // namespace

SincReader::SincReader(std::unique_ptr<SampleSource> source, double output_rate_Hz)
    : source_{std::move(source)}, channels_{source_->channels()} {
  EXPECTS(output_rate_Hz > 0.0);
  const double band = std::min(1.0, output_rate_Hz / source_->sample_rate_Hz());
  taps_ = 8 * static_cast<int>(std::ceil(taps_at_full_band / band / 8.0));
  const double half = taps_ / 2.0;
  const double window_norm = std::cyl_bessel_i(0.0, kaiser_beta);
  std::vector<double> row(static_cast<std::size_t>(taps_));
  for (int phase = 0; phase <= phase_count; ++phase) {
    const double part = static_cast<double>(phase) / phase_count;
    double sum = 0.0;
    for (int tap = 0; tap < taps_; ++tap) {
      const double u = part + half - 1.0 - tap;
      const double edge = std::abs(u / half);
      const double window =
          edge < 1.0
              ? std::cyl_bessel_i(0.0, kaiser_beta * std::sqrt(1.0 - edge * edge)) / window_norm
              : 0.0;
      row[static_cast<std::size_t>(tap)] = sinc(band * u) * window;
      sum += row[static_cast<std::size_t>(tap)];
    }
    for (const double value : row) phases_.push_back(static_cast<float>(value / sum));
  }
  kernel_.resize(static_cast<std::size_t>(taps_));
  const auto length = static_cast<std::size_t>(window_frames + taps_);
  window_.assign(static_cast<std::size_t>(channels_), std::vector<float>(length));
  interleaved_.resize(length * static_cast<std::size_t>(channels_));
}

Outcome SincReader::fetch(std::int64_t first_frame) {
  if (Outcome read = source_->read(first_frame, interleaved_); !read) return read;
  const auto width = static_cast<std::size_t>(channels_);
  for (std::size_t channel = 0; channel < width; ++channel)
    for (std::size_t k = 0; k < window_[channel].size(); ++k)
      window_[channel][k] = interleaved_[k * width + channel];
  window_from_ = first_frame;
  fetched_ = true;
  return Done{};
}

Outcome SincReader::read(std::span<const double> frames, std::span<float> interleaved) {
  const auto width = static_cast<std::size_t>(channels_);
  EXPECTS(interleaved.size() == frames.size() * width);
  const double outside = static_cast<double>(source_->frames() + taps_);
  for (std::size_t k = 0; k < frames.size(); ++k) {
    const double frame = frames[k];
    float* const out = &interleaved[k * width];
    if (!(frame > -taps_ && frame < outside)) {
      std::fill_n(out, width, 0.0f);
      continue;
    }
    const double whole = std::floor(frame);
    const std::int64_t first = static_cast<std::int64_t>(whole) - taps_ / 2 + 1;
    if (!fetched_ || first < window_from_ || first > window_from_ + window_frames)
      if (Outcome read = fetch(first - window_frames / 8); !read) return read;

    const double step = (frame - whole) * phase_count;
    const int phase = std::min(static_cast<int>(step), phase_count - 1);
    const auto part = static_cast<float>(step - phase);
    const float* const row =
        &phases_[static_cast<std::size_t>(phase) * static_cast<std::size_t>(taps_)];
    for (int tap = 0; tap < taps_; ++tap)
      kernel_[static_cast<std::size_t>(tap)] = row[tap] + part * (row[tap + taps_] - row[tap]);
    for (std::size_t channel = 0; channel < width; ++channel)
      out[channel] = dot(
          kernel_.data(), &window_[channel][static_cast<std::size_t>(first - window_from_)], taps_);
  }
  return Done{};
}

}  // namespace goodside::signal
