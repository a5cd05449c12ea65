#include "listen/infrasound.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <complex>

#include "base/expects.hpp"
#include "listen/bands.hpp"
#include "listen/density.hpp"
#include "maths/median.hpp"
#include "signal/aligned.hpp"
#include "signal/fft.hpp"
#include "signal/fir.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr double window_turns = 8.0;
constexpr std::size_t enough_windows = 3;
constexpr double highest_Hz = 8.0;
constexpr double line_bins = 2.0;  // half the main lobe of the window, in its own bins
constexpr double beside_from_bins = 2.5, beside_to_bins = 3.5;
constexpr double stands_out = 4.0;
constexpr double high_passed_dB = 20.0;
constexpr Band under_arm{.centre_Hz = 6.3, .low_Hz = 5.0, .high_Hz = 8.0};
constexpr Band over_arm{.centre_Hz = 21.0, .low_Hz = 15.0, .high_Hz = 30.0};

/// One window's powers: of each line's place, and of as much width beside it.
struct Powers {
  std::vector<double> line, beside;
  double under{}, over{};  // densities
};

class Analysis {
 public:
  Analysis(double rate_Hz, double turn_Hz)
      : samples_{static_cast<std::size_t>(std::lround(window_turns * rate_Hz / turn_Hz))},
        window_{signal::hann(samples_)},
        fft_{signal::shared_fft(std::bit_ceil(samples_))},
        shaped_(fft_.length()),
        spectrum_(fft_.bins()) {
    const double bin_Hz = rate_Hz / static_cast<double>(fft_.length());
    const double own_Hz = turn_Hz / window_turns;
    std::vector<Band> bands{under_arm, over_arm};
    const auto beside = [&](double centre_Hz, double sign) {
      const double near_Hz = centre_Hz + sign * beside_from_bins * own_Hz;
      const double far_Hz = centre_Hz + sign * beside_to_bins * own_Hz;
      return Band{centre_Hz, std::min(near_Hz, far_Hz), std::max(near_Hz, far_Hz)};
    };
    for (double line_Hz = turn_Hz; line_Hz <= highest_Hz; line_Hz += turn_Hz) {
      bands.push_back({line_Hz, line_Hz - line_bins * own_Hz, line_Hz + line_bins * own_Hz});
      bands.push_back(beside(line_Hz, -1.0));
      bands.push_back(beside(line_Hz, 1.0));
    }
    powers_ = BandPowers{bands, bin_Hz, fft_.bins()};
    double window_power = 0.0;
    for (const float w : window_) window_power += static_cast<double>(w) * static_cast<double>(w);
    factor_ = mean_square_factor(fft_.bins(), window_power);
  }

  [[nodiscard]] std::size_t samples() const { return samples_; }

  Powers of(std::span<const float> vertical) {
    std::ranges::fill(shaped_, 0.0F);
    // The mean, a sound card's offset, would leak into the first line.
    double mean = 0.0;
    for (const float v : vertical) mean += static_cast<double>(v);
    mean /= static_cast<double>(samples_);
    for (std::size_t j = 0; j < samples_; ++j)
      shaped_[j] = window_[j] * (vertical[j] - static_cast<float>(mean));
    fft_.forward(shaped_, spectrum_);
    const auto power = [&](std::size_t b) {
      return factor_ * static_cast<double>(powers_.power(b, spectrum_));
    };
    Powers found;
    found.under = power(0) / powers_.width_bins(0);
    found.over = power(1) / powers_.width_bins(1);
    for (std::size_t b = 2; b + 2 < powers_.size(); b += 3) {
      found.line.push_back(power(b));
      found.beside.push_back((power(b + 1) + power(b + 2)) * powers_.width_bins(b) /
                             (powers_.width_bins(b + 1) + powers_.width_bins(b + 2)));
    }
    return found;
  }

 private:
  std::size_t samples_;
  std::vector<float> window_;
  const signal::RealFft& fft_;
  signal::Aligned<float> shaped_;
  signal::Aligned<std::complex<float>> spectrum_;
  BandPowers powers_;
  double factor_{};
};

/// Medians over the windows, each quantity by itself.
Powers middle_of(const std::vector<Powers>& windows) {
  Powers middle;
  const auto median_of = [&](const auto& pick) {
    std::vector<double> values;
    for (const Powers& window : windows) values.push_back(pick(window));
    return maths::median(std::move(values));
  };
  for (std::size_t k = 0; k < windows.front().line.size(); ++k) {
    middle.line.push_back(median_of([k](const Powers& w) { return w.line[k]; }));
    middle.beside.push_back(median_of([k](const Powers& w) { return w.beside[k]; }));
  }
  middle.under = median_of([](const Powers& w) { return w.under; });
  middle.over = median_of([](const Powers& w) { return w.over; });
  return middle;
}

InfrasoundFound refused(std::string why) {
  InfrasoundFound found;
  found.undetermined.push_back({.field = "warp", .why = std::move(why)});
  return found;
}

}  // namespace

Infrasound::Infrasound(double rate_Hz) : rate_Hz_{rate_Hz} {
  EXPECTS(rate_Hz >= 70.0 && rate_Hz <= 200.0);
}

void Infrasound::append(std::int64_t first, std::span<const float> vertical) {
  if (parts_.empty() || parts_.back().first + std::ssize(parts_.back().vertical) != first)
    parts_.push_back({.first = first, .vertical = {}});
  auto& all = parts_.back().vertical;
  all.insert(all.end(), vertical.begin(), vertical.end());
}

void Infrasound::take(std::int64_t first, std::span<const float> vertical) {
  if (!vertical.empty()) append(first, vertical);
}

void Infrasound::merge(const Infrasound& later) {
  EXPECTS(rate_Hz_ == later.rate_Hz_);
  for (const Part& part : later.parts_) append(part.first, part.vertical);
}

InfrasoundFound Infrasound::finish(double turn_Hz, double gain_dB) const {
  if (!(turn_Hz >= 0.2 && turn_Hz <= 3.0))
    return refused("no record turns at such a rate: its lines would not lie under 8 Hz");
  Analysis analysis{rate_Hz_, turn_Hz};
  std::vector<Powers> windows;
  for (const Part& part : parts_)
    for (std::size_t from = 0; from + analysis.samples() <= part.vertical.size();
         from += analysis.samples() / 2)
      windows.push_back(analysis.of(std::span{part.vertical}.subspan(from, analysis.samples())));
  if (windows.size() < enough_windows)
    return refused("fewer than 16 turns of groove were heard without a break");
  const Powers middle = middle_of(windows);
  if (!(middle.over > 0.0))
    return refused("the capture is mono: vertical motion cannot be told from lateral");
  if (middle.under < middle.over * std::pow(10.0, -high_passed_dB / 10.0))
    return refused(
        "the capture was high-passed: what lies under 10 Hz is gone; capture without a rumble "
        "filter");

  InfrasoundFound found;
  found.warp = works::HeardWarp{};
  works::HeardWarp& warp = *found.warp;
  warp.reference =
      "vertical, lines at the turn and its multiples to 8 Hz as heard through arm and "
      "playback curve, re a full-scale sine of the reference at the capture's gain; no height: "
      "that "
      "needs the cartridge's sensitivity and the resonance of its arm";
  double harmonics = 0.0;
  for (std::size_t k = 0; k < middle.line.size(); ++k) {
    if (!(middle.line[k] > stands_out * middle.beside[k])) continue;
    const double power = middle.line[k] - middle.beside[k];
    if (k == 0)
      warp.once_per_turn_dB = re_full_scale_dB(power, gain_dB);
    else
      harmonics += power;
  }
  if (harmonics > 0.0) warp.harmonics_dB = re_full_scale_dB(harmonics, gain_dB);
  constexpr double least = 1e-30;
  warp.background_dB =
      re_full_scale_dB(std::max(stands_out * middle.beside.front(), least), gain_dB);
  const auto refuse = [&](const char* field) {
    found.undetermined.push_back({field, "no line stands 6 dB over the infrasound beside it"});
  };
  if (!warp.once_per_turn_dB) refuse("warp.once_per_turn_dB");
  if (!warp.harmonics_dB) refuse("warp.harmonics_dB");
  return found;
}

}  // namespace goodside::listen
