#include "listen/low_noise.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <functional>

#include "base/expects.hpp"
#include "listen/density.hpp"
#include "listen/mains_hum.hpp"
#include "listen/weighting.hpp"
#include "signal/aligned.hpp"
#include "signal/fft.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr double rumble_top_Hz = 315.0;
constexpr std::uint32_t enough_windows = 8;
constexpr double hum_top_Hz = 330.0;  // the fifth of 60 Hz and its neighbourhood

std::size_t power_of_two_near(double length) {
  return std::size_t{1} << static_cast<unsigned>(std::lround(std::log2(length)));
}

// Third octaves from 10 Hz, the last one cut at the top of the rumble band.
std::vector<Band> rumble_bands() {
  std::vector<Band> bands;
  for (int n = -20; n <= -5; ++n)
    bands.push_back(
        {.centre_Hz = 1000.0 * std::pow(10.0, n / 10.0),
         .low_Hz = 1000.0 * std::pow(10.0, (n - 0.5) / 10.0),
         .high_Hz = std::min(1000.0 * std::pow(10.0, (n + 0.5) / 10.0), rumble_top_Hz)});
  return bands;
}

}  // namespace

LowNoise::LowNoise(double rate_Hz)
    : bin_Hz_{},
      window_{signal::hann(power_of_two_near(2.0 * rate_Hz))},
      bands_{rumble_bands()},
      rumble_(bands_.size()),
      plain_(bands_.size()) {
  EXPECTS(rate_Hz >= 800.0 && rate_Hz <= 2000.0);
  bin_Hz_ = rate_Hz / static_cast<double>(window_.size());
  for (const float w : window_) window_power_ += static_cast<double>(w) * static_cast<double>(w);
  powers_ = BandPowers{bands_, bin_Hz_, window_.size() / 2 + 1};
  log_spectrum_.resize(static_cast<std::size_t>(hum_top_Hz / bin_Hz_));
  for (std::size_t k = 0; k < window_.size() / 2 + 1; ++k)
    gain_.push_back(
        static_cast<float>(std::sqrt(rumble_weighting_power(static_cast<double>(k) * bin_Hz_))));
}

void LowNoise::take(const std::array<std::span<const float>, 2>& residual,
                    const std::array<std::span<const float>, 2>& prediction) {
  const std::array streams{residual[0], residual[1], prediction[0], prediction[1]};
  const std::size_t size = streams[0].size();
  for (const auto& stream : streams) EXPECTS(stream.size() == size);
  for (std::size_t from = 0; from < size;) {
    const std::size_t count = std::min(window_.size() - waiting_[0].size(), size - from);
    for (std::size_t s = 0; s < streams.size(); ++s) {
      const auto piece = streams[s].subspan(from, count);
      waiting_[s].insert(waiting_[s].end(), piece.begin(), piece.end());
    }
    from += count;
    if (waiting_[0].size() < window_.size()) return;
    take_window();
    const auto hop = static_cast<std::ptrdiff_t>(window_.size() / 2);
    for (auto& samples : waiting_) samples.erase(samples.begin(), samples.begin() + hop);
  }
}

void LowNoise::take_window() {
  const signal::RealFft& fft = signal::shared_fft(window_.size());
  std::array<signal::Aligned<std::complex<float>>, 4> spectra;
  signal::Aligned<float> shaped(window_.size());
  for (std::size_t s = 0; s < spectra.size(); ++s) {
    std::transform(
        window_.begin(), window_.end(), waiting_[s].begin(), shaped.begin(), std::multiplies<>{});
    spectra[s].resize(fft.bins());
    fft.forward(shaped, spectra[s]);
  }
  const double mean_of_channels = 0.5 * mean_square_factor(fft.bins(), window_power_);
  for (std::size_t k = 0; k < log_spectrum_.size(); ++k) {
    constexpr double silence = 1e-30;
    const auto both = static_cast<double>(std::norm(spectra[0][k]) + std::norm(spectra[1][k]));
    log_spectrum_[k] += std::log(std::max(mean_of_channels * both, silence));
  }
  const auto tally = [&](std::vector<QuietCells>& tallies) {
    for (std::size_t b = 0; b < bands_.size(); ++b) {
      const auto power = [&](std::size_t left) {
        return mean_of_channels * (static_cast<double>(powers_.power(b, spectra[left])) +
                                   static_cast<double>(powers_.power(b, spectra[left + 1])));
      };
      const double noise = power(0);
      if (noise > 0.0) tallies[b].take(QuietCells::class_of(power(2)), noise);
    }
  };
  tally(plain_);
  // Third octaves are too wide here to be weighted as a whole.
  for (auto& spectrum : spectra)
    for (std::size_t k = 0; k < gain_.size(); ++k) spectrum[k] *= gain_[k];
  tally(rumble_);
  ++windows_;
}

void LowNoise::merge(const LowNoise& later) {
  EXPECTS(window_.size() == later.window_.size() && bin_Hz_ == later.bin_Hz_);
  for (std::size_t b = 0; b < rumble_.size(); ++b) {
    rumble_[b].merge(later.rumble_[b]);
    plain_[b].merge(later.plain_[b]);
  }
  for (std::size_t k = 0; k < log_spectrum_.size(); ++k) log_spectrum_[k] += later.log_spectrum_[k];
  windows_ += later.windows_;
  waiting_ = later.waiting_;
}

/// Sum over the bands; empty where half of them are covered.
std::optional<double> LowNoise::noise_power(const std::vector<QuietCells>& tallies) const {
  DensityCurve density;
  std::size_t known = 0;
  for (std::size_t b = 0; b < bands_.size(); ++b) {
    const auto floor = quiet_floor(tallies[b], Averaged::power, enough_windows);
    if (!floor) continue;
    density.add(bands_[b].centre_Hz, floor->mean / powers_.width_bins(b));
    ++known;
  }
  if (2 * known < bands_.size()) return {};
  double power = 0.0;
  for (std::size_t b = 0; b < bands_.size(); ++b)
    power += density.at(bands_[b].centre_Hz) * powers_.width_bins(b);
  return power;
}

void LowNoise::find_rumble(double gain_dB, LowNoiseFound& found) const {
  const auto reference = [](const char* weighting) {
    return fmt::format(
        "{}, lateral and vertical, mean of both channels, re a full-scale sine of the reference at "
        "the capture's gain",
        weighting);
  };
  found.rumble_reference = reference("weighted as curve B of IEC 60098 up to 315 Hz (from memory)");
  found.rumble_unweighted_reference =
      reference("unweighted, 10 to 315 Hz, as curve A of IEC 60098 (from memory)");
  const char* why = windows_ < enough_windows
                        ? "fewer than 10 s of groove were heard without a break"
                        : "the programme covers the noise in most bands below 315 Hz";
  const auto tell = [&](const std::vector<QuietCells>& tallies,
                        const char* field,
                        std::optional<double>& figure_dB) {
    if (const auto power = noise_power(tallies))
      figure_dB = re_full_scale_dB(*power, gain_dB);
    else
      found.undetermined.push_back({.field = field, .why = why});
  };
  tell(rumble_, "noise.rumble_dB", found.rumble_dB);
  tell(plain_, "noise.rumble_unweighted_dB", found.rumble_unweighted_dB);
}

void LowNoise::find_hum(double gain_dB, LowNoiseFound& found) const {
  constexpr std::uint32_t enough_for_hum = 15;
  const auto refuse = [&](const char* why) {
    found.undetermined.push_back({.field = "noise.hum_dB", .why = why});
  };
  found.hum_reference =
      "lines at 50 or 60 Hz and their multiples to 300 Hz, unweighted, mean of both channels, re a "
      "full-scale sine of the reference at the capture's gain";
  if (windows_ < enough_for_hum)
    return refuse("fewer than 16 s of groove were heard without a break");
  std::vector<double> spectrum;
  for (const double sum : log_spectrum_) spectrum.push_back(std::exp(sum / windows_));
  const auto hum = mains_hum(spectrum, bin_Hz_);
  if (!hum) return refuse("no line of 50 or 60 Hz mains stands 6 dB over the noise beside it");
  found.hum_dB = re_full_scale_dB(hum->mean_square, gain_dB);
}

LowNoiseFound LowNoise::finish(double gain_dB) const {
  LowNoiseFound found;
  find_rumble(gain_dB, found);
  find_hum(gain_dB, found);
  return found;
}

}  // namespace goodside::listen
