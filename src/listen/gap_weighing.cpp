#include "listen/gap_weighing.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>

#include "listen/whitening.hpp"

namespace goodside::listen {
namespace {

constexpr double settle_s = 60e-3;  // of the high-pass
constexpr double around_s = 25e-3;  // of the model, either side of the gap
constexpr double window_s = 5e-3;
constexpr double rumble_Hz = 100.0;
constexpr double bass_Hz = 500.0;
constexpr std::size_t guard = 4;  // samples about the burst that belong to it

}  // namespace

GapWeigher::GapWeigher(std::unique_ptr<PieceReader> reader, double noise_power)
    : reader_{std::move(reader)}, noise_power_{noise_power} {}

Outcome GapWeigher::weigh(double from_s, double to_s, PredictionFault& fault) {
  const double rate_Hz = reader_->rate_Hz();
  const auto ahead = static_cast<std::size_t>((settle_s + around_s) * rate_Hz);
  const auto behind = static_cast<std::size_t>(around_s * rate_Hz);
  const auto width = static_cast<std::size_t>(std::lround((to_s - from_s) * rate_Hz)) + 2 * guard;
  const std::int64_t first =
      std::llround(from_s * rate_Hz) - static_cast<std::int64_t>(ahead + guard);
  for (std::size_t i = 0; i < 2; ++i) raw_[i].resize(ahead + width + behind);
  if (auto read = reader_->read(first, raw_[0], raw_[1]); !read) return read;
  for (std::size_t i = 0; i < 2; ++i) {
    samples_[i] = raw_[i];
    high_pass(samples_[i], rumble_Hz, rate_Hz);
    interpolate_gap(i, ahead, ahead + width);
  }
  measure_shape(ahead, ahead + width, fault);
  weigh_audibly(ahead, ahead + width, fault);
  fault.named = classify(fault.features);
  return Done{};
}

/// fault_ becomes the recording less its interpolation: zero outside the gap.
void GapWeigher::interpolate_gap(std::size_t channel, std::size_t from, std::size_t to) {
  const double rate_Hz = reader_->rate_Hz();
  const signal::Aligned<float>& heard = samples_[channel];
  const auto around = static_cast<std::size_t>(around_s * rate_Hz);
  signal::Aligned<float> block{heard.begin() + static_cast<std::ptrdiff_t>(from - around),
                               heard.end()};
  const std::size_t gap_to = around + (to - from);
  fault_[channel].assign(heard.size(), 0.0F);
  // The second model comes from a block without the fault.
  for (int round = 0; round < 2; ++round) {
    const auto fit = predictor_.fit(block, rate_Hz);
    const std::vector<double> known{block.begin(), block.end()};
    const std::vector<double> values = interpolate(fit.model, known, around, gap_to);
    for (std::size_t j = 0; j < values.size(); ++j)
      block[around + j] = static_cast<float>(values[j]);
  }
  for (std::size_t j = from; j < to; ++j) fault_[channel][j] = heard[j] - block[around + j - from];
}

void GapWeigher::measure_shape(std::size_t from, std::size_t to, PredictionFault& fault) const {
  const double rate_Hz = reader_->rate_Hz();
  EventFeatures& features = fault.features;
  const auto share =
      static_cast<float>(1.0 - std::exp(-2.0 * std::numbers::pi * bass_Hz / rate_Hz));
  std::array<float, 2> slow{};
  std::vector<double> energy(to - from);
  double fourth = 0.0;
  double low = 0.0;
  double peak = 0.0;
  std::size_t full = 0;
  for (std::size_t j = from; j < to; ++j) {
    const float l = fault_[0][j];
    const float r = fault_[1][j];
    features.lateral_energy += 0.5 * static_cast<double>((l + r) * (l + r));
    features.vertical_energy += 0.5 * static_cast<double>((l - r) * (l - r));
    for (std::size_t i = 0; i < 2; ++i) {
      const auto d = static_cast<double>(fault_[i][j]);
      const double c = std::abs(static_cast<double>(raw_[i][j]));
      features.channel_energy[i] += d * d;
      energy[j - from] += d * d;
      fourth += d * d * d * d;
      peak = std::max(peak, std::abs(d));
      features.capture_peak_fs = std::max(features.capture_peak_fs, c);
      if (c >= 0.999) ++full;
      slow[i] += share * (fault_[i][j] - slow[i]);
      low += static_cast<double>(slow[i] * slow[i]);
    }
  }
  const double total = features.channel_energy[0] + features.channel_energy[1];
  const double count = 2.0 * static_cast<double>(to - from);
  std::size_t begin = 0;
  std::size_t end = 0;
  double sum = 0.0;
  for (std::size_t j = 0; j < energy.size(); ++j) {
    sum += energy[j];
    if (sum < 0.03 * total) begin = j;
    if (sum < 0.95 * total) end = j;
  }
  features.duration_s = static_cast<double>(end + 1 - begin) / rate_Hz;
  features.energy_dB = 10.0 * std::log10(std::max(total / rate_Hz, 1e-20));
  features.peak_dB = 20.0 * std::log10(std::max(peak, 1e-10));
  features.low_share = total > 0.0 ? std::min(1.0, low / total) : 0.0;
  features.burst_kurtosis = total > 0.0 ? fourth * count / (total * total) : 3.0;
  features.share_at_full_scale = static_cast<double>(full) / count;
  fault.duration_s = features.duration_s;
}

void GapWeigher::weigh_audibly(std::size_t from, std::size_t to, PredictionFault& fault) {
  const double rate_Hz = reader_->rate_Hz();
  const auto window = static_cast<std::size_t>(window_s * rate_Hz);
  double around = 0.0;
  for (std::size_t i = 0; i < 2; ++i) {
    // The interpolated signal would ring on: what comes after the gap is high-passed without the fault.
    signal::Aligned<float> clear = samples_[i];
    for (std::size_t j = from; j < to; ++j) clear[j] -= fault_[i][j];
    high_pass(clear, audible_from_Hz, rate_Hz);
    for (std::size_t j = 0; j < window; ++j)
      for (const std::size_t at : {from - window + j, to + j})
        around += 0.5 * static_cast<double>(clear[at] * clear[at]);
    high_pass(fault_[i], audible_from_Hz, rate_Hz);
    for (const float d : fault_[i]) fault.fault_energy += static_cast<double>(d * d);
  }
  const double lengths =
      std::max(1.0, static_cast<double>(to - from) / static_cast<double>(window));
  fault.programme_energy = around * lengths;
  fault.noise_energy = noise_power_ * lengths * static_cast<double>(window);
  fault.features.excess_dB =
      10.0 * std::log10(std::max(fault.fault_energy, 1e-20) / fault.noise_energy);
}

}  // namespace goodside::listen
