#include "listen/noise_map.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/expects.hpp"
#include "listen/weighting.hpp"

namespace goodside::listen {
namespace {

std::vector<Band> half_octaves() {
  std::vector<Band> bands;
  for (int h = 0; h < 6; ++h) {
    const double low_Hz = 1000.0 * std::exp2(0.5 * h);
    bands.push_back({.centre_Hz = low_Hz * std::exp2(0.25),
                     .low_Hz = low_Hz,
                     .high_Hz = low_Hz * std::exp2(0.5)});
  }
  return bands;
}

}  // namespace

NoiseMap::NoiseMap(double rpm, double programme_duration_s)
    : revolutions_per_s_{rpm / 60.0}, revolutions_{programme_duration_s * rpm / 60.0} {
  EXPECTS(rpm > 0.0 && programme_duration_s > 0.0 && revolutions_ < 1e6);
  constexpr double fewest_revolutions = 4.0, most_rows = 40.0;
  revolutions_per_row_ = std::max(fewest_revolutions, std::ceil(revolutions_ / most_rows));
  rows_.resize(static_cast<std::size_t>(std::ceil(revolutions_ / revolutions_per_row_)));
}

void NoiseMap::take(const SpectralFrame& frame) {
  const double turned = frame.programme_s * revolutions_per_s_;
  if (!(turned >= 0.0) || turned >= revolutions_) return;
  if (powers_.size() == 0) {
    powers_ = BandPowers{half_octaves(), frame.bin_Hz, frame.residual[0].size()};
    bin_Hz_ = frame.bin_Hz;
  }
  EXPECTS(frame.bin_Hz == bin_Hz_);

  Row& row = rows_[static_cast<std::size_t>(turned / revolutions_per_row_)];
  if (row.empty()) row.resize(columns);
  const double part = turned - std::floor(turned);
  Place& place = row[std::min(static_cast<std::size_t>(part * columns), row.size() - 1)];
  ++place.frames;
  if (frame.disturbed) return;

  const double mean_of_channels =
      0.5 * mean_square_factor(frame.residual[0].size(), frame.window_power);
  const auto power = [&](std::size_t b, const auto& spectra) {
    return mean_of_channels * (static_cast<double>(powers_.power(b, spectra[0])) +
                               static_cast<double>(powers_.power(b, spectra[1])));
  };
  for (std::size_t b = 0; b < bands_; ++b) {
    const double noise = power(b, frame.residual);
    if (!(noise > 0.0)) continue;  // digital silence is no groove
    const std::size_t loudness = QuietCells::class_of(power(b, frame.prediction));
    place.log_noise[b].take(loudness, std::log(noise));
  }
}

void NoiseMap::merge(const NoiseMap& later) {
  EXPECTS(rows_.size() == later.rows_.size() && revolutions_ == later.revolutions_);
  if (later.powers_.size() == 0) return;
  EXPECTS(bin_Hz_ == 0.0 || bin_Hz_ == later.bin_Hz_);
  powers_ = later.powers_;
  bin_Hz_ = later.bin_Hz_;
  for (std::size_t r = 0; r < rows_.size(); ++r) {
    if (later.rows_[r].empty()) continue;
    if (rows_[r].empty()) {
      rows_[r] = later.rows_[r];
      continue;
    }
    for (std::size_t c = 0; c < rows_[r].size(); ++c) {
      Place& place = rows_[r][c];
      const Place& added = later.rows_[r][c];
      place.frames += added.frames;
      for (std::size_t b = 0; b < bands_; ++b) place.log_noise[b].merge(added.log_noise[b]);
    }
  }
}

NoiseMap::WholeSide NoiseMap::whole_side() const {
  constexpr std::uint32_t enough_cells = 50;
  const std::vector<Band> bands = half_octaves();
  WholeSide whole;
  double weighted_width_Hz = 0.0, measured_width_Hz = 0.0;
  for (std::size_t b = 0; b < bands_; ++b) {
    QuietCells log_noise;
    for (const Row& row : rows_)
      for (const Place& place : row) log_noise.merge(place.log_noise[b]);
    whole.floor[b] = quiet_floor(log_noise, Averaged::log_power, enough_cells);

    const double weight = a_weighting_power(bands[b].centre_Hz);
    const double width_Hz = weight * (bands[b].high_Hz - bands[b].low_Hz);
    weighted_width_Hz += width_Hz;
    if (!whole.floor[b]) continue;
    // The logarithm of a Gaussian noise's power lies 1/K under that of its mean, K degrees of
    // freedom. Under a Hann window every bin carries 1/1.94 of an independent one, in each of two
    // channels.
    const double freedom = 4.0 * powers_.width_bins(b) / 1.94;
    whole.weighted_power += weight * std::exp(whole.floor[b]->mean + 1.0 / freedom);
    measured_width_Hz += width_Hz;
    whole.known = true;
  }
  // A band that the programme hides is taken to be as dense as the mean of the others.
  if (whole.known) whole.weighted_power *= weighted_width_Hz / measured_width_Hz;
  return whole;
}

NoiseMap::Level NoiseMap::level_of(const Place& place, const WholeSide& whole) {
  constexpr double fewest_share = 0.05, dB_per_unit = 4.342944819032518;  // 10/ln 10
  constexpr std::uint32_t fewest_frames = 4;
  double sum = 0.0;
  std::uint32_t cells = 0, frames = 0;
  for (std::size_t b = 0; b < bands_; ++b) {
    if (!whole.floor[b]) continue;
    std::uint32_t clear = 0;
    for (std::size_t k = 0; k < whole.floor[b]->until; ++k) {
      sum += place.log_noise[b].sum[k] - place.log_noise[b].cells[k] * whole.floor[b]->mean;
      clear += place.log_noise[b].cells[k];
    }
    cells += clear;
    frames = std::max(frames, clear);
  }
  if (place.frames == 0) return {};
  Level level;
  level.coverage = static_cast<double>(cells) / (static_cast<double>(bands_) * place.frames);
  if (level.coverage >= fewest_share && frames >= fewest_frames)
    level.dB = dB_per_unit * sum / cells;
  return level;
}

NoiseMapFound NoiseMap::finish(double gain_dB) const {
  const WholeSide whole = whole_side();
  if (!whole.known)
    return {.map = {}, .why = "the programme never lies far enough under the noise"};

  constexpr double full_scale_sine = 0.5;
  const double base_dB = 10.0 * std::log10(whole.weighted_power / full_scale_sine) - gain_dB;
  works::PolarMap map;
  map.revolutions_per_row = revolutions_per_row_;
  map.columns = columns;
  map.rows = static_cast<int>(rows_.size());
  map.reference =
      "A-weighted noise from 1 to 8 kHz, mean of both channels, re a full-scale sine of the "
      "reference at the capture's gain";
  const Row unheard(columns);
  bool any = false;
  for (const Row& row : rows_)
    for (const Place& place : row.empty() ? unheard : row) {
      const Level level = level_of(place, whole);
      map.coverage.push_back(level.coverage);
      map.dB.push_back(level.dB);
      if (level.dB) *map.dB.back() += base_dB;
      any = any || level.dB.has_value();
    }
  if (!any) return {.map = {}, .why = "no place was clear of programme and faults in four frames"};
  return {.map = std::move(map), .why = {}};
}

}  // namespace goodside::listen
