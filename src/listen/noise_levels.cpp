#include "listen/noise_levels.hpp"

#include <fmt/format.h>

#include <cstdint>

#include "base/expects.hpp"
#include "listen/density.hpp"
#include "listen/weighting.hpp"

namespace goodside::listen {

NoiseLevels::NoiseLevels() : bands_{third_octaves()}, noise_(bands_.size()) {}

void NoiseLevels::take(const SpectralFrame& frame) {
  if (frame.disturbed) return;
  if (powers_.size() == 0) {
    powers_ = BandPowers{bands_, frame.bin_Hz, frame.residual[0].size()};
    bin_Hz_ = frame.bin_Hz;
  }
  EXPECTS(frame.bin_Hz == bin_Hz_);
  const double mean_of_channels =
      0.5 * mean_square_factor(frame.residual[0].size(), frame.window_power);
  const auto power = [&](std::size_t b, const auto& spectra) {
    return mean_of_channels * (static_cast<double>(powers_.power(b, spectra[0])) +
                               static_cast<double>(powers_.power(b, spectra[1])));
  };
  for (std::size_t b = 0; b < bands_.size(); ++b) {
    const double noise = power(b, frame.residual);
    if (noise > 0.0) noise_[b].take(QuietCells::class_of(power(b, frame.prediction)), noise);
  }
}

void NoiseLevels::merge(const NoiseLevels& later) {
  if (later.powers_.size() == 0) return;
  EXPECTS(bin_Hz_ == 0.0 || bin_Hz_ == later.bin_Hz_);
  powers_ = later.powers_;
  bin_Hz_ = later.bin_Hz_;
  for (std::size_t b = 0; b < noise_.size(); ++b) noise_[b].merge(later.noise_[b]);
}

WeightedNoiseFound NoiseLevels::finish(double gain_dB) const {
  constexpr std::uint32_t enough_cells = 20;
  constexpr double core_low_Hz = 500.0, core_high_Hz = 10000.0, lowest_bins = 1.5;
  WeightedNoiseFound found;
  const auto reference = [](const char* weighting) {
    return fmt::format(
        "{}, mean of both channels, re a full-scale sine of the reference at the capture's gain",
        weighting);
  };
  found.weighted_reference = reference("A-weighted (IEC 61672-1)");
  found.weighted_468_reference =
      reference("468-weighted (ITU-R BS.468-4, 0 dB at 1 kHz), rms, not quasi-peak");
  found.weighted_k_reference = reference("K-weighted (ITU-R BS.1770, 0 dB at 1 kHz)");
  const auto measurable = [&](std::size_t b) {
    return powers_.width_bins(b) > 0.0 && bands_[b].low_Hz >= lowest_bins * bin_Hz_;
  };
  DensityCurve density;
  int core = 0, core_known = 0;
  for (std::size_t b = 0; b < powers_.size() && b < bands_.size(); ++b) {
    if (!measurable(b)) continue;
    const bool in_core = bands_[b].centre_Hz >= core_low_Hz && bands_[b].centre_Hz <= core_high_Hz;
    core += in_core ? 1 : 0;
    const auto floor = quiet_floor(noise_[b], Averaged::power, enough_cells);
    if (!floor) continue;
    core_known += in_core ? 1 : 0;
    density.add(bands_[b].centre_Hz, floor->mean / powers_.width_bins(b));
  }
  if (core_known == 0 || 2 * core_known < core) {
    for (const char* field : {"noise.weighted_dB", "noise.weighted_468_dB", "noise.weighted_k_dB"})
      found.undetermined.push_back(
          {.field = field,
           .why = "the programme covers the noise in most bands from 500 Hz to 10 kHz"});
    return found;
  }
  const auto weighted_dB = [&](double (*weighting_power)(double)) {
    double power = 0.0;
    for (std::size_t b = 0; b < bands_.size(); ++b)
      if (measurable(b))
        power += density.at(bands_[b].centre_Hz) * powers_.width_bins(b) *
                 mean_weight(weighting_power, bands_[b]);
    return re_full_scale_dB(power, gain_dB);
  };
  found.weighted_dB = weighted_dB(a_weighting_power);
  found.weighted_468_dB = weighted_dB(itu_468_weighting_power);
  found.weighted_k_dB = weighted_dB(k_weighting_power);
  return found;
}

}  // namespace goodside::listen
