#include "listen/levels.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

constexpr double over_noise = 10.0;
constexpr double radius_step_m = 1e-3;
constexpr std::size_t radius_classes = 200;
constexpr Band high_band{.centre_Hz = 9800.0, .low_Hz = 8000.0, .high_Hz = 12000.0};
constexpr std::size_t first_transfer_band = 16;    // nominal 800 Hz
constexpr double dB_per_unit = 4.342944819032518;  // 10/ln 10

struct Fit {
  double slope{}, sigma{};
};

// Unweighted: what scatters a class is the programme itself, not the noise.
Fit straight_line(const std::vector<double>& x, const std::vector<double>& y) {
  const auto n = static_cast<double>(x.size());
  double mean_x = 0.0, mean_y = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    mean_x += x[i] / n;
    mean_y += y[i] / n;
  }
  double xx = 0.0, xy = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += (x[i] - mean_x) * (x[i] - mean_x);
    xy += (x[i] - mean_x) * (y[i] - mean_y);
  }
  const double slope = xy / xx;
  double left_over = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double error = y[i] - mean_y - slope * (x[i] - mean_x);
    left_over += error * error;
  }
  return {.slope = slope, .sigma = std::sqrt(left_over / (n - 2.0) / xx)};
}

}  // namespace

void LevelMeter::Sums::take(const Cell& cell, double width_bins) {
  if (!(cell.prediction > over_noise * cell.residual) || !(cell.reference > 0.0)) return;
  heard += cell.capture - cell.residual;
  cut += cell.reference;
  predicted += cell.prediction;
  error += cell.prediction * cell.residual / std::max(width_bins, 1.0);
  ++cells;
}

void LevelMeter::Sums::merge(const Sums& later) {
  heard += later.heard;
  cut += later.cut;
  predicted += later.predicted;
  error += later.error;
  cells += later.cells;
}

double LevelMeter::Sums::level_dB() const {
  return 10.0 * std::log10(heard / cut);
}

// |C|^2 - |R|^2 = |Y|^2 + 2 Re(Y R*), and the last term has the variance 2 |Y|^2 |R|^2 over a
// cell's bins; half-overlapped Hann frames hold every independent value about twice, hence the 4.
double LevelMeter::Sums::sigma_dB() const {
  return dB_per_unit * std::sqrt(4.0 * error) / predicted;
}

void LevelMeter::Transfer::merge(const Transfer& later) {
  for (std::size_t i = 0; i < 2; ++i) {
    for (std::size_t j = 0; j < 2; ++j) heard[i][j] += later.heard[i][j];
    cut[i] += later.cut[i];
    left_over[i] += later.left_over[i];
  }
  cut_across += later.cut_across;
  bins += later.bins;
}

LevelMeter::LevelMeter() : bands_{third_octaves()}, by_radius_(radius_classes) {
  for (auto& channel : third_octave_) channel.resize(bands_.size());
  bands_.push_back(high_band);
}

void LevelMeter::take(const SpectralFrame& frame, double radius_m) {
  if (frame.disturbed) return;
  if (powers_.size() == 0) {
    powers_ = BandPowers{bands_, frame.bin_Hz, frame.capture[0].size()};
    bin_Hz_ = frame.bin_Hz;
  }
  EXPECTS(frame.bin_Hz == bin_Hz_);

  const auto cell_of = [&](std::size_t b, std::size_t channel) {
    return Cell{.capture = powers_.power(b, frame.capture[channel]),
                .reference = powers_.power(b, frame.reference[channel]),
                .prediction = powers_.power(b, frame.prediction[channel]),
                .residual = powers_.power(b, frame.residual[channel])};
  };
  const std::size_t high = bands_.size() - 1;
  for (std::size_t channel = 0; channel < 2; ++channel)
    for (std::size_t b = 0; b < high; ++b)
      third_octave_[channel][b].take(cell_of(b, channel), powers_.width_bins(b));

  if (radius_m >= 0.0 && radius_m < radius_step_m * radius_classes) {
    const Cell left = cell_of(high, 0), right = cell_of(high, 1);
    const auto ring = static_cast<std::size_t>(radius_m / radius_step_m);
    by_radius_[ring].take({.capture = left.capture + right.capture,
                           .reference = left.reference + right.reference,
                           .prediction = left.prediction + right.prediction,
                           .residual = left.residual + right.residual},
                          powers_.width_bins(high));
  }
  take_transfer(frame);
}

void LevelMeter::take_transfer(const SpectralFrame& frame) {
  for (std::size_t t = 0; t < transfer_.size(); ++t) {
    const Band& band = bands_[first_transfer_band + t];
    const auto first = static_cast<std::size_t>(std::ceil(band.low_Hz / bin_Hz_));
    const auto until = std::min(static_cast<std::size_t>(std::ceil(band.high_Hz / bin_Hz_)),
                                frame.capture[0].size());
    Transfer cell;
    double predicted = 0.0;
    for (std::size_t k = first; k < until; ++k) {
      const std::array<std::complex<double>, 2> x{frame.reference[0][k], frame.reference[1][k]};
      for (std::size_t i = 0; i < 2; ++i) {
        const std::complex<double> heard{frame.capture[i][k]};
        for (std::size_t j = 0; j < 2; ++j) cell.heard[i][j] += heard * std::conj(x[j]);
        cell.cut[i] += std::norm(x[i]);
        cell.left_over[i] += static_cast<double>(std::norm(frame.residual[i][k]));
        predicted += static_cast<double>(std::norm(frame.prediction[i][k]));
      }
      cell.cut_across += x[0] * std::conj(x[1]);
      cell.bins += 1.0;
    }
    if (predicted > over_noise * (cell.left_over[0] + cell.left_over[1])) transfer_[t].merge(cell);
  }
}

void LevelMeter::merge(const LevelMeter& later) {
  if (later.powers_.size() == 0) return;
  EXPECTS(bin_Hz_ == 0.0 || bin_Hz_ == later.bin_Hz_);
  powers_ = later.powers_;
  bin_Hz_ = later.bin_Hz_;
  for (std::size_t channel = 0; channel < 2; ++channel)
    for (std::size_t b = 0; b < third_octave_[channel].size(); ++b)
      third_octave_[channel][b].merge(later.third_octave_[channel][b]);
  for (std::size_t ring = 0; ring < by_radius_.size(); ++ring)
    by_radius_[ring].merge(later.by_radius_[ring]);
  for (std::size_t t = 0; t < transfer_.size(); ++t) transfer_[t].merge(later.transfer_[t]);
}

void LevelMeter::find_separation(LevelsFound& found) const {
  double own = 0.0, across = 0.0, noise = 0.0, variance = 0.0, likeness = 1.0;
  for (const Transfer& sums : transfer_) {
    const double product = sums.cut[0] * sums.cut[1];
    const double determinant = product - std::norm(sums.cut_across);
    // Below this, rounding hides what tells the channels apart: a mono cut.
    constexpr double alike = 1e-6;
    if (!(determinant > alike * product)) continue;
    likeness = std::min(likeness, std::norm(sums.cut_across) / product);
    for (std::size_t i = 0; i < 2; ++i) {
      // Row i of <C X*> G^-1 for the Hermitian G = <X X*>.
      const std::size_t j = 1 - i;
      const auto g_ij = i == 0 ? sums.cut_across : std::conj(sums.cut_across);
      const auto through = sums.heard[i][i] * sums.cut[j] - sums.heard[i][j] * std::conj(g_ij);
      const auto leak = sums.heard[i][j] * sums.cut[i] - sums.heard[i][i] * g_ij;
      own += std::norm(through / determinant);
      across += std::norm(leak / determinant);
      // Half-overlapped Hann frames hold every independent value about twice, hence the 2.
      const double share = 2.0 * sums.left_over[i] / sums.bins * sums.cut[i] / determinant;
      noise += share;
      // |H + e|^2 of a complex normal e.
      variance += share * (2.0 * std::norm(leak / determinant) + share);
    }
  }
  constexpr double clear = 0.1, nearly_mono = 0.998;
  if (across > 0.0 && noise < clear * across) {
    found.levels.separation_dB = 10.0 * std::log10(own / (across - noise));
    found.levels.separation_sigma_dB = dB_per_unit * std::sqrt(variance) / (across - noise);
    return;
  }
  const char* why = likeness < nearly_mono
                        ? "the crosstalk near 1 kHz lies under the surface noise"
                        : "the cut has too little difference between its channels near 1 kHz";
  found.undetermined.push_back({.field = "levels.separation_dB", .why = why});
}

void LevelMeter::find_high_loss(LevelsFound& found) const {
  constexpr std::uint32_t enough_cells = 20;
  constexpr std::size_t fewest_rings = 6;
  constexpr double sure_dB = 0.5, span_m = 10e-3, sure_dB_per_m = 12.0;
  std::vector<double> radius_m, level_dB;
  for (std::size_t ring = 0; ring < by_radius_.size(); ++ring) {
    const Sums& sums = by_radius_[ring];
    if (sums.cells < enough_cells || !(sums.heard > 0.0) || sums.sigma_dB() > sure_dB) continue;
    radius_m.push_back((static_cast<double>(ring) + 0.5) * radius_step_m);
    level_dB.push_back(sums.level_dB());
  }
  const auto refuse = [&](const char* why) {
    found.undetermined.push_back({.field = "levels.high_loss_dB_per_m", .why = why});
  };
  if (radius_m.size() < fewest_rings || radius_m.back() - radius_m.front() < span_m)
    return refuse("programme from 8 to 12 kHz stands over the noise on too little of the radius");
  const Fit fit = straight_line(radius_m, level_dB);
  if (fit.sigma > sure_dB_per_m)
    return refuse("the level from 8 to 12 kHz scatters too much along the radius for a slope");
  found.levels.high_loss_dB_per_m = fit.slope;
  found.levels.high_loss_sigma_dB_per_m = fit.sigma;
}

LevelsFound LevelMeter::finish() const {
  constexpr double sure_dB = 0.15, narrowest_bins = 0.5;
  constexpr double balance_low_Hz = 250.0, balance_high_Hz = 8000.0;
  constexpr std::uint32_t enough_cells = 10;
  constexpr int fewest_compared = 4;
  const auto known = [&](const Sums& sums) {
    return sums.cells >= enough_cells && sums.heard > 0.0 && sums.sigma_dB() < sure_dB;
  };
  LevelsFound found;
  double difference_dB = 0.0, variance_dB2 = 0.0;
  int compared = 0;
  for (std::size_t b = 0; b < third_octave_[0].size() && powers_.size() > 0; ++b) {
    const Sums& left = third_octave_[0][b];
    const Sums& right = third_octave_[1][b];
    if (!known(left) || !known(right) || powers_.width_bins(b) < narrowest_bins) continue;
    const works::ThirdOctave level{.centre_Hz = bands_[b].centre_Hz,
                                   .left_dB = left.level_dB(),
                                   .right_dB = right.level_dB(),
                                   .sigma_dB = std::max(left.sigma_dB(), right.sigma_dB())};
    found.levels.third_octave.push_back(level);
    if (level.centre_Hz < balance_low_Hz || level.centre_Hz > balance_high_Hz) continue;
    difference_dB += level.right_dB - level.left_dB;
    variance_dB2 += std::pow(left.sigma_dB(), 2) + std::pow(right.sigma_dB(), 2);
    ++compared;
  }
  if (found.levels.third_octave.empty())
    found.undetermined.push_back({.field = "levels.third_octave",
                                  .why = "no third octave of the programme stands over the noise"});
  if (compared >= fewest_compared) {
    found.levels.balance_dB = difference_dB / compared;
    found.levels.balance_sigma_dB = std::sqrt(variance_dB2) / compared;
  } else {
    found.undetermined.push_back(
        {.field = "levels.balance_dB",
         .why = "too few third octaves of the programme stand over the noise"});
  }
  find_separation(found);
  find_high_loss(found);
  return found;
}

}  // namespace goodside::listen
