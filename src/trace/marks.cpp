#include "trace/marks.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace goodside::trace {
namespace {

constexpr double bin_dB = 1.5, lowest_dB = -16.0, anything = 0.1, most_off_dB = 15.0;
constexpr double smoothing = 0.5;  ///< finds that each bin counts for beforehand

const works::HeardFault& fault_of(std::span<const works::HeardPlay> plays, const Event& event) {
  return plays[static_cast<std::size_t>(event.play)].faults[static_cast<std::size_t>(event.fault)];
}

struct Common {
  double median_dB;
  std::size_t kind;
};

/// Of all finds but the one; of many, of all.
Common common_of(std::span<const works::HeardPlay> plays,
                 std::span<const Event> events,
                 std::span<const int> place,
                 std::size_t but) {
  constexpr std::size_t many = 24;
  std::vector<double> excess;
  std::array<int, 7> kinds{};
  for (std::size_t i = 0; i < place.size(); ++i) {
    if (i == but && place.size() <= many) continue;
    const auto& fault = fault_of(plays, events[static_cast<std::size_t>(place[i])]);
    if (std::isfinite(fault.excess_dB)) excess.push_back(static_cast<double>(fault.excess_dB));
    ++kinds[static_cast<std::size_t>(fault.kind)];
  }
  double median = std::nan("");
  if (!excess.empty()) {
    const auto middle = excess.begin() + static_cast<std::ptrdiff_t>(excess.size() / 2);
    std::nth_element(excess.begin(), middle, excess.end());
    median = *middle;
    if (excess.size() % 2 == 0) median = 0.5 * (median + *std::max_element(excess.begin(), middle));
  }
  return {median,
          static_cast<std::size_t>(std::max_element(kinds.begin(), kinds.end()) - kinds.begin())};
}

}  // namespace

std::size_t Marks::bin(double excess_dB) {
  const double at = (excess_dB - lowest_dB) / bin_dB;
  return at > 0.0 ? std::min(bins - 1, static_cast<std::size_t>(at)) : 0;
}

Marks::Marks(std::span<const works::HeardPlay> plays,
             std::span<const Event> events,
             std::span<const char> left_out) {
  std::array<double, bins> count{};
  std::array<double, kinds> kind{};
  double all = 0.0, all_kinds = 0.0;
  std::vector<double> excess;
  for (std::size_t e = 0; e < events.size(); ++e) {
    const auto& fault = fault_of(plays, events[e]);
    if (std::isfinite(fault.excess_dB)) excess.push_back(static_cast<double>(fault.excess_dB));
    if (left_out[e] != 0) continue;
    kind[static_cast<std::size_t>(fault.kind)] += 1.0;
    all_kinds += 1.0;
    if (!std::isfinite(fault.excess_dB)) continue;
    count[bin(static_cast<double>(fault.excess_dB))] += 1.0;
    all += 1.0;
  }
  if (!excess.empty()) {
    const auto weak = excess.begin() + static_cast<std::ptrdiff_t>(excess.size() / 20);
    std::nth_element(excess.begin(), weak, excess.end());
    floor_dB_ = *weak;
  }
  for (std::size_t b = 0; b < bins; ++b) {
    const double beside =
        0.25 * ((b > 0 ? count[b - 1] : 0.0) + (b + 1 < bins ? count[b + 1] : 0.0));
    stray_[b] = (0.5 * count[b] + beside + smoothing) / (all + smoothing * bins) / bin_dB;
  }
  for (std::size_t k = 0; k < kinds; ++k)
    kind_[k] = (kind[k] + smoothing) / (all_kinds + smoothing * kinds);
}

void Marks::take(std::span<const works::HeardPlay> plays,
                 std::span<const Event> events,
                 std::span<const int> place) {
  constexpr std::size_t most = 200;  // of one place, so that it does not speak for all
  const Common all = common_of(plays, events, place, place.size());
  for (std::size_t i = 0; i < std::min(most, place.size()); ++i) {
    const auto& fault = fault_of(plays, events[static_cast<std::size_t>(place[i])]);
    const double off = static_cast<double>(fault.excess_dB) - all.median_dB;
    if (std::isfinite(off) && std::abs(off) < most_off_dB) {
      squares_ += off * off;
      count_ += 1.0;
    }
    same_ += static_cast<std::size_t>(fault.kind) == all.kind ? 1.0 : 0.0;
    of_ += 1.0;
  }
}

std::optional<double> Marks::above_floor_dB(std::span<const works::HeardPlay> plays,
                                            std::span<const Event> events,
                                            std::span<const int> place) const {
  const double median_dB = common_of(plays, events, place, place.size()).median_dB;
  if (!std::isfinite(median_dB)) return std::nullopt;
  return median_dB - floor_dB_;
}

std::vector<double> Marks::gains(std::span<const works::HeardPlay> plays,
                                 std::span<const Event> events,
                                 std::span<const int> place) const {
  std::vector<double> gain(place.size(), 0.0);
  if (place.size() < 2) return gain;
  const double n = static_cast<double>(place.size());
  // The median of n - 1 others is itself uncertain by about 1.25 sigma / sqrt(n - 1).
  const double sigma = std::sqrt(squares_ / count_ * (1.0 + 1.57 / (n - 1.0)));
  const double stays = same_ / of_;
  Common others = common_of(plays, events, place, place.size());
  for (std::size_t i = 0; i < place.size(); ++i) {
    if (place.size() <= 24) others = common_of(plays, events, place, i);
    const auto& fault = fault_of(plays, events[static_cast<std::size_t>(place[i])]);
    const double off = static_cast<double>(fault.excess_dB) - others.median_dB;
    if (std::isfinite(off)) {
      const double normal = std::exp(-0.5 * off * off / (sigma * sigma)) /
                            (sigma * std::sqrt(2.0 * std::numbers::pi));
      gain[i] += std::log(
          (1.0 - anything) * normal / stray_[bin(static_cast<double>(fault.excess_dB))] + anything);
    }
    const auto kind = static_cast<std::size_t>(fault.kind);
    const double other = (1.0 - stays) * kind_[kind] / std::max(1e-6, 1.0 - kind_[others.kind]);
    gain[i] += std::log((kind == others.kind ? stays : other) / kind_[kind]);
    gain[i] *= (n - 1.0) / n;
  }
  return gain;
}

}  // namespace goodside::trace
