#include "listen/wow.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <complex>
#include <numbers>
#include <unsupported/Eigen/FFT>
#include <vector>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

using std::numbers::pi;

struct Point {
  double frequency_Hz, weight_dB;
};
constexpr std::array<Point, 17> curve{{{0.1, -48.0},
                                       {0.2, -30.6},
                                       {0.315, -19.7},
                                       {0.4, -15.0},
                                       {0.63, -8.4},
                                       {0.8, -6.0},
                                       {1.0, -4.2},
                                       {1.6, -1.8},
                                       {2.0, -0.9},
                                       {4.0, 0.0},
                                       {6.3, -0.9},
                                       {10.0, -2.1},
                                       {20.0, -5.9},
                                       {40.0, -10.4},
                                       {63.0, -14.2},
                                       {100.0, -17.3},
                                       {200.0, -23.0}}};

constexpr double reflected_s = 10.0;
constexpr double settling_s = 1.0;

/// From 1 to 0 between two frequencies.
double fall(double frequency_Hz, double flat_to_Hz, double gone_at_Hz) {
  const double over = std::clamp((frequency_Hz - flat_to_Hz) / (gone_at_Hz - flat_to_Hz), 0.0, 1.0);
  return 0.5 * (1.0 + std::cos(pi * over));
}

/// Differentiator, weight and limits in one, of a track with a point every `hop_s`.
struct WowFilter {
  WowWeighting weighting;
  double flat_to_Hz, gone_at_Hz;

  WowFilter(WowWeighting wanted, double hop_s)
      : weighting{wanted},
        flat_to_Hz{std::min(200.0, 0.4 / hop_s)},
        gone_at_Hz{std::min(315.0, 0.5 / hop_s)} {}

  [[nodiscard]] double response_per_s(double frequency_Hz) const {
    const double weight = weighting == WowWeighting::standard ? wow_weight(frequency_Hz) : 1.0;
    return 2.0 * pi * frequency_Hz * weight * fall(frequency_Hz, flat_to_Hz, gone_at_Hz);
  }
};

bool usable(double programme_s, double sigma_s) {
  return std::isfinite(programme_s) && std::isfinite(sigma_s) && sigma_s >= 0.0;
}

/// A stretch's delays with gaps and stray points bridged by straight lines, and where it can be
/// trusted.
struct Bridged {
  std::vector<double> delay_s;
  std::vector<char> good;
};

void bridge(Bridged& stretch) {
  const std::size_t n = stretch.good.size();
  std::size_t last = n;
  for (std::size_t k = 0; k < n; ++k) {
    if (stretch.good[k] == 0) continue;
    const std::size_t from = last == n ? 0 : last;
    const double begin_s = last == n ? stretch.delay_s[k] : stretch.delay_s[last];
    for (std::size_t j = from; j < k; ++j)
      if (stretch.good[j] == 0)
        stretch.delay_s[j] = begin_s + (stretch.delay_s[k] - begin_s) *
                                           static_cast<double>(j - from) /
                                           static_cast<double>(k - from);
    last = k;
  }
  for (std::size_t j = last; j < n; ++j) stretch.delay_s[j] = stretch.delay_s[last];
}

Bridged bridged(const Stretch& stretch, double speed) {
  const std::size_t n = stretch.programme_s.size();
  Bridged out{std::vector<double>(n, 0.0), std::vector<char>(n, 0)};
  double first_s = 0.0;
  bool begun = false;
  for (std::size_t k = 0; k < n; ++k) {
    if (!usable(stretch.programme_s[k], stretch.sigma_s[k])) continue;
    if (!begun) first_s = stretch.programme_s[k];
    begun = true;
    out.good[k] = 1;
    out.delay_s[k] =
        stretch.programme_s[k] - first_s - speed * static_cast<double>(k) * stretch.hop_s;
  }
  if (!begun) return out;
  bridge(out);
  // A lone stray point is a spike in the rate; it shows in the second difference of the delay.
  std::vector<double> bend_s(n, 0.0), sorted_s;
  for (std::size_t k = 1; k + 1 < n; ++k) {
    bend_s[k] = std::abs(out.delay_s[k - 1] - 2.0 * out.delay_s[k] + out.delay_s[k + 1]);
    sorted_s.push_back(bend_s[k]);
  }
  if (sorted_s.size() < 8) return out;
  const auto middle = sorted_s.begin() + static_cast<std::ptrdiff_t>(sorted_s.size() / 2);
  std::nth_element(sorted_s.begin(), middle, sorted_s.end());
  const double bound_s = std::max(20.0 * *middle, 1e-9);
  for (std::size_t k = 1; k + 1 < n; ++k)
    if (bend_s[k] > bound_s) out.good[k] = 0;
  bridge(out);
  return out;
}

/// What is taken off a stretch's delays: the line between its ends, which the weighting makes
/// indifferent, or, unweighted, the parabola of a steady drift.
std::vector<double> trend(const std::vector<double>& delay_s, WowWeighting weighting) {
  const std::size_t n = delay_s.size();
  std::vector<double> values(n);
  if (weighting == WowWeighting::standard) {
    const double slope = (delay_s.back() - delay_s.front()) / static_cast<double>(n - 1);
    for (std::size_t k = 0; k < n; ++k)
      values[k] = delay_s.front() + slope * static_cast<double>(k);
    return values;
  }
  // Legendre's polynomials, as good as orthogonal over thousands of points.
  const auto at = [&](std::size_t k) {
    const double u = 2.0 * static_cast<double>(k) / static_cast<double>(n - 1) - 1.0;
    return std::array{1.0, u, 1.5 * u * u - 0.5};
  };
  std::array<double, 3> share{}, norm{};
  for (std::size_t k = 0; k < n; ++k)
    for (std::size_t i = 0; i < 3; ++i) {
      share[i] += delay_s[k] * at(k)[i];
      norm[i] += at(k)[i] * at(k)[i];
    }
  for (std::size_t k = 0; k < n; ++k)
    for (std::size_t i = 0; i < 3; ++i) values[k] += share[i] / norm[i] * at(k)[i];
  return values;
}

/// The stretch's weighted rate, one value a point.
std::vector<double> weighted_rate(const std::vector<double>& delay_s,
                                  double hop_s,
                                  const WowFilter& filter) {
  const std::size_t n = delay_s.size();
  const auto margin = std::min(n - 1, static_cast<std::size_t>(std::lround(reflected_s / hop_s)));
  const std::size_t length = std::bit_ceil(n + 2 * margin);
  const std::vector<double> steady = trend(delay_s, filter.weighting);
  const auto flat = [&](std::size_t k) { return delay_s[k] - steady[k]; };
  const double first = flat(0), last = flat(n - 1);
  std::vector<double> extended(length, 0.0);
  for (std::size_t k = 0; k < n; ++k) extended[margin + k] = flat(k);
  for (std::size_t j = 1; j <= margin; ++j) {
    const double fade =
        0.5 + 0.5 * std::cos(pi * static_cast<double>(j) / static_cast<double>(margin + 1));
    extended[margin - j] = first - fade * (flat(j) - first);
    extended[margin + n - 1 + j] = last - fade * (flat(n - 1 - j) - last);
  }
  Eigen::FFT<double> transform;
  std::vector<std::complex<double>> spectrum;
  transform.fwd(spectrum, extended);
  for (std::size_t k = 0; k < length; ++k) {
    const std::size_t folded = std::min(k, length - k);
    const double frequency_Hz = static_cast<double>(folded) / (static_cast<double>(length) * hop_s);
    const double gain = filter.response_per_s(frequency_Hz);
    spectrum[k] *= std::complex<double>{0.0, k <= length / 2 ? gain : -gain};
  }
  std::vector<double> rate;
  transform.inv(rate, spectrum);
  return {rate.begin() + static_cast<std::ptrdiff_t>(margin),
          rate.begin() + static_cast<std::ptrdiff_t>(margin + n)};
}

}  // namespace

double wow_weight(double frequency_Hz) {
  if (!(frequency_Hz > 0.0)) return 0.0;
  std::size_t upper = 1;
  while (upper + 1 < curve.size() && curve[upper].frequency_Hz < frequency_Hz) ++upper;
  const Point& low = curve[upper - 1];
  const Point& high = curve[upper];
  const double share =
      std::log(frequency_Hz / low.frequency_Hz) / std::log(high.frequency_Hz / low.frequency_Hz);
  return std::pow(10.0, (low.weight_dB + share * (high.weight_dB - low.weight_dB)) / 20.0);
}

std::optional<WeightedWow> weighted_wow(const TimeTrack& track,
                                        double speed,
                                        WowWeighting weighting) {
  EXPECTS(speed > 0.0);
  std::vector<double> deviation;
  double heard_s = 0.0, variance_sum = 0.0, noise_gain2_per_s2 = 0.0;
  for (const Stretch& stretch : track) {
    const std::size_t n = stretch.programme_s.size();
    const auto settling = static_cast<std::size_t>(std::lround(settling_s / stretch.hop_s));
    if (n < 4 * settling) continue;
    const Bridged whole = bridged(stretch, speed);
    if (std::count(whole.good.begin(), whole.good.end(), 1) < 8) continue;
    const WowFilter filter{weighting, stretch.hop_s};
    const auto rate = weighted_rate(whole.delay_s, stretch.hop_s, filter);
    if (noise_gain2_per_s2 == 0.0) {
      constexpr int steps = 500;
      const double nyquist_Hz = 0.5 / stretch.hop_s;
      for (int i = 0; i < steps; ++i)
        noise_gain2_per_s2 +=
            std::pow(filter.response_per_s((i + 0.5) * nyquist_Hz / steps), 2) / steps;
    }
    // Points since the last gap, and to the next one, must both outlast the filter's settling; a
    // lone bridged point, or what a tick spoils of a fine track, is no gap.
    constexpr double tick_s = 0.03;
    const auto lone = std::max<std::size_t>(2, static_cast<std::size_t>(tick_s / stretch.hop_s));
    std::vector<std::size_t> since(n, 0);
    std::size_t missing = lone + 1, run = 0;
    for (std::size_t k = 0; k < n; ++k) {
      missing = whole.good[k] != 0 ? 0 : missing + 1;
      run = missing > lone ? 0 : run + 1;
      since[k] = run;
    }
    missing = lone + 1;
    run = 0;
    for (std::size_t k = n; k-- > 0;) {
      missing = whole.good[k] != 0 ? 0 : missing + 1;
      run = missing > lone ? 0 : run + 1;
      if (whole.good[k] == 0 || run < settling || since[k] < settling) continue;
      deviation.push_back(std::abs(rate[k]) / speed);
      variance_sum += stretch.sigma_s[k] * stretch.sigma_s[k];
      heard_s += stretch.hop_s;
    }
  }
  if (heard_s < 5.0) return std::nullopt;
  const auto at =
      deviation.begin() + static_cast<std::ptrdiff_t>(0.95 * static_cast<double>(deviation.size()));
  std::nth_element(deviation.begin(), at, deviation.end());
  const double noise_rms =
      std::sqrt(noise_gain2_per_s2 * variance_sum / static_cast<double>(deviation.size())) / speed;
  constexpr double two_sided_95 = 1.959964;
  return WeightedWow{
      *at, *std::max_element(at, deviation.end()), two_sided_95 * noise_rms, heard_s};
}

works::WowCurve wow_curve(const TimeTrack& track, double speed, std::size_t most_points) {
  EXPECTS(speed > 0.0 && most_points > 0);
  constexpr double floor_s = 1e-7;
  std::size_t total = 0;
  for (const Stretch& stretch : track) total += stretch.programme_s.size();
  const std::size_t step = std::max<std::size_t>(1, (total + most_points - 1) / most_points);
  const std::size_t reach = std::max<std::size_t>(2, step / 2);
  works::WowCurve drawn;
  for (const Stretch& stretch : track) {
    const std::size_t n = stretch.programme_s.size();
    for (std::size_t middle = reach; middle + reach < n; middle += step) {
      const double origin_s = stretch.programme_s[middle];
      if (!usable(origin_s, stretch.sigma_s[middle])) continue;
      // Times and delays are a few hundredths of a second from the middle: the plain sums lose
      // nothing.
      double weight = 0.0, time = 0.0, delay = 0.0, time_time = 0.0, time_delay = 0.0;
      std::size_t held = 0;
      for (std::size_t k = middle - reach; k <= middle + reach; ++k) {
        if (!usable(stretch.programme_s[k], stretch.sigma_s[k])) continue;
        const double w = 1.0 / (stretch.sigma_s[k] * stretch.sigma_s[k] + floor_s * floor_s);
        const double t = (static_cast<double>(k) - static_cast<double>(middle)) * stretch.hop_s;
        const double d = stretch.programme_s[k] - origin_s - speed * t;
        ++held;
        weight += w;
        time += w * t;
        delay += w * d;
        time_time += w * t * t;
        time_delay += w * t * d;
      }
      if (held < 3 || 2 * held <= 2 * reach + 1) continue;
      time /= weight;
      delay /= weight;
      const double slope =
          (time_delay / weight - time * delay) / (time_time / weight - time * time);
      drawn.time_s.push_back(stretch.capture_from_s + static_cast<double>(middle) * stretch.hop_s +
                             time);
      drawn.deviation.push_back(slope / speed);
    }
  }
  return drawn;
}

}  // namespace goodside::listen
