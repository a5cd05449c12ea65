#include "listen/masking.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

constexpr double top_Hz = 20'000.0;
constexpr double seven_dB = 5.011872336272722;  // 10^0.7
constexpr double lowest_dz = -3.0, highest_dz = 8.0;

double power_of(double level_dB) {
  return std::exp(level_dB * 0.1 * std::numbers::ln10);
}

/// Annex D looks 2 lines about a tone to 5.4 kHz, 3 to 10.9 kHz, 6 above, for lines of 86 Hz (from
/// memory); other spacings keep those distances in Hz, and never less than 2 lines.
std::size_t tonal_reach(double frequency_Hz, double bin_Hz) {
  const double reach_Hz = frequency_Hz < 5430.0 ? 172.0 : frequency_Hz < 10940.0 ? 258.0 : 517.0;
  return static_cast<std::size_t>(std::max(2L, std::lround(reach_Hz / bin_Hz)));
}

}  // namespace

double bark(double frequency_Hz) {
  const double over = frequency_Hz / 7500.0;
  return 13.0 * std::atan(0.76e-3 * frequency_Hz) + 3.5 * std::atan(over * over);
}

double threshold_in_quiet_dB(double frequency_Hz) {
  EXPECTS(frequency_Hz > 0.0);
  const double k = frequency_Hz / 1000.0;
  return 3.64 * std::pow(k, -0.8) - 6.5 * std::exp(-0.6 * (k - 3.3) * (k - 3.3)) +
         1e-3 * k * k * k * k;
}

double masking_spread_dB(double level_dB, double dz) {
  if (dz < lowest_dz || dz >= highest_dz) return -std::numeric_limits<double>::infinity();
  if (dz < -1.0) return 17.0 * (dz + 1.0) - (0.4 * level_dB + 6.0);
  if (dz < 0.0) return (0.4 * level_dB + 6.0) * dz;
  if (dz < 1.0) return -17.0 * dz;
  return -(dz - 1.0) * (17.0 - 0.15 * level_dB) - 17.0;
}

double masking_threshold_dB(const Masker& masker, double dz) {
  const double index_dB = masker.tonal ? 0.275 * masker.bark + 4.5 : 0.175 * masker.bark + 0.5;
  return masker.level_dB - 1.525 - index_dB + masking_spread_dB(masker.level_dB, dz);
}

MaskingModel::MaskingModel(double bin_Hz, std::size_t bins, double full_scale_dB_SPL)
    : full_scale_power_{power_of(full_scale_dB_SPL)} {
  EXPECTS(bin_Hz > 0.0 && bins >= 2);
  for (std::size_t k = 0; k < bins; ++k) {
    // Line 0 has no threshold in quiet of its own; half a line up stands for it.
    const double frequency_Hz = bin_Hz * (k == 0 ? 0.5 : static_cast<double>(k));
    if (frequency_Hz > top_Hz) break;
    bark_.push_back(bark(frequency_Hz));
    quiet_power_.push_back(power_of(threshold_in_quiet_dB(frequency_Hz)));
    reach_.push_back(tonal_reach(frequency_Hz, bin_Hz));
  }
  EXPECTS(!bark_.empty());
  const auto line_at = [this](double place) {
    return static_cast<std::size_t>(std::lower_bound(bark_.begin(), bark_.end(), place) -
                                    bark_.begin());
  };
  const double top = bark_.back();
  for (double edge = 0.0; edge < top; edge += 1.0) {
    const std::size_t first = line_at(edge), end = line_at(edge + 1.0);
    if (first == end) continue;
    double mean_log = 0.0;
    for (std::size_t k = first; k < end; ++k)
      mean_log += std::log(std::max(0.5, static_cast<double>(k)));
    const double centre_Hz = bin_Hz * std::exp(mean_log / static_cast<double>(end - first));
    bands_.push_back({first, end, bark(centre_Hz), power_of(threshold_in_quiet_dB(centre_Hz))});
  }
}

std::vector<Masker> MaskingModel::maskers(std::span<const double> power) const {
  EXPECTS(power.size() >= bark_.size());
  const std::size_t lines = bark_.size();
  std::vector<Masker> found;
  std::vector<char> used(lines, 0);
  for (std::size_t k = 2; k + 1 < lines; ++k) {
    const double here = power[k];
    if (!(here > power[k - 1] && here >= power[k + 1])) continue;
    const std::size_t reach = reach_[k];
    bool stands_out = true;
    for (std::size_t away = 2; away <= reach && stands_out; ++away) {
      if (away <= k) stands_out = here >= seven_dB * power[k - away];
      if (stands_out && k + away < power.size()) stands_out = here >= seven_dB * power[k + away];
    }
    if (!stands_out) continue;
    const std::size_t end = std::min(lines, k + reach + 1);
    for (std::size_t i = k - std::min(k, reach); i < end; ++i) used[i] = 1;
    const double sound = full_scale_power_ * (power[k - 1] + here + power[k + 1]);
    if (sound <= quiet_power_[k]) continue;
    const Masker masker{10.0 * std::log10(sound), bark_[k], true};
    if (found.empty() || masker.bark - found.back().bark >= 0.5)
      found.push_back(masker);
    else if (masker.level_dB > found.back().level_dB)
      found.back() = masker;
  }
  for (const auto& band : bands_) {
    double sound = 0.0;
    for (std::size_t k = band.first; k < band.end; ++k)
      if (used[k] == 0) sound += power[k];
    sound *= full_scale_power_;
    if (sound > band.quiet_power) found.push_back({10.0 * std::log10(sound), band.bark, false});
  }
  return found;
}

double MaskingModel::margin_dB(std::span<const double> masker_power,
                               std::span<const double> fault_power) const {
  EXPECTS(fault_power.size() >= bark_.size());
  const std::vector<Masker> all = maskers(masker_power);
  double best = 0.0;
  for (const auto& band : bands_) {
    double fault = 0.0;
    for (std::size_t k = band.first; k < band.end; ++k) fault += fault_power[k];
    fault *= full_scale_power_;
    // No match for the best band so far even in quiet; masking only raises the threshold.
    if (fault <= best * band.quiet_power) continue;
    double hidden = band.quiet_power;
    for (const auto& masker : all) {
      const double dz = band.bark - masker.bark;
      if (dz >= lowest_dz && dz < highest_dz) hidden += power_of(masking_threshold_dB(masker, dz));
    }
    best = std::max(best, fault / hidden);
  }
  return best > 0.0 ? 10.0 * std::log10(best) : -std::numeric_limits<double>::infinity();
}

}  // namespace goodside::listen
