#include "listen/revolution.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>
#include <optional>
#include <utility>

#include "base/expects.hpp"
#include "maths/median.hpp"
#include "signal/aligned.hpp"
#include "signal/fft.hpp"

namespace goodside::listen {
namespace {

constexpr double slowest_Hz = 30.0 / 60.0, fastest_Hz = 85.0 / 60.0;
constexpr double nominal_rpm[] = {100.0 / 3.0, 45.0, 78.26, 77.92};
constexpr double nominal_width = 0.04;
constexpr double least_chance = 1e-12;
constexpr double roads = 4.0;  // each has as many chances to err

constexpr double free_vertical = 0.316;  // -5 dB re lateral
constexpr float tonal_programme = 0.42F;
constexpr double as_quiet = 10.0;  // in power
constexpr double second_s = 1.0;

constexpr double repeat_high_pass_Hz = 0.4;
constexpr double whiten_Hz = 2.0;
constexpr double most_times_usual = 5.0;  // a line of a codec's frames or of hum is no turn
constexpr std::size_t most_lags = 3;
constexpr double each_lag_z = 1.5;
constexpr double rhythm_z = 4.0, rhythm_share = 0.5;
constexpr std::size_t finest_fraction = 8;
constexpr double rhythm_powers = 0.75;

constexpr double line_turns = 32.0;
constexpr double least_line_turns = 16.0;
constexpr double beside_from = 3.0, beside_to = 7.0;  // in units of one over the window
constexpr std::size_t harmonics = 4;
constexpr double beat_power = 100.0;
constexpr double other_to_Hz = 3.0, other_from = 5.0, other_share = 0.5, other_chance = 1e-3;
constexpr double swing_step_s = 0.05;

constexpr std::size_t tick_harmonics = 20;
constexpr std::size_t enough_ticks = 8, most_ticks = 2000;

/// One road's best.
struct Evidence {
  std::string road;
  double turn_Hz{}, sigma_Hz{};
  double chance{1.0};
  std::optional<double> rhythm_s;  ///< what recurs at a fraction of the turn
};

/// Inverse of the normal distribution, by P. J. Acklam's rational form (from memory): relative error 1e-9.
double normal_quantile(double p) {
  constexpr double a[] = {-3.969683028665376e+01,
                          2.209460984245205e+02,
                          -2.759285104469687e+02,
                          1.383577518672690e+02,
                          -3.066479806614716e+01,
                          2.506628277459239e+00};
  constexpr double b[] = {-5.447609879822406e+01,
                          1.615858368580409e+02,
                          -1.556989798598866e+02,
                          6.680131188771972e+01,
                          -1.328068155288572e+01};
  constexpr double c[] = {-7.784894002430293e-03,
                          -3.223964580411365e-01,
                          -2.400758277161838e+00,
                          -2.549732539343734e+00,
                          4.374664141464968e+00,
                          2.938163982698783e+00};
  constexpr double d[] = {
      7.784695709041462e-03, 3.224671290700398e-01, 2.445134137142996e+00, 3.754408661907416e+00};
  constexpr double tail = 0.02425;
  if (p > 0.5) return -normal_quantile(1.0 - p);
  if (p < tail) {
    const double q = std::sqrt(-2.0 * std::log(p));
    return (((((c[0] * q + c[1]) * q + c[2]) * q + c[3]) * q + c[4]) * q + c[5]) /
           ((((d[0] * q + d[1]) * q + d[2]) * q + d[3]) * q + 1.0);
  }
  const double q = p - 0.5;
  const double r = q * q;
  return (((((a[0] * r + a[1]) * r + a[2]) * r + a[3]) * r + a[4]) * r + a[5]) * q /
         (((((b[0] * r + b[1]) * r + b[2]) * r + b[3]) * r + b[4]) * r + 1.0);
}

double normal_tail(double z) {
  return 0.5 * std::erfc(z / std::numbers::sqrt2);
}

/// P(X > x) of a gamma quantity of whole shape k and unit scale: e^-x sum_{j<k} x^j/j!
double gamma_tail(std::size_t k, double x) {
  double log_term = -x;
  double sum = std::exp(log_term);
  for (std::size_t j = 1; j < k; ++j) {
    log_term += std::log(x) - std::log(static_cast<double>(j));
    sum += std::exp(log_term);
  }
  return std::min(1.0, sum);
}

/// Vertex of the parabola through three values a step apart: where, in steps from the middle, and its bend.
struct Vertex {
  double at{}, height{}, bend{};
};

Vertex vertex(double before, double middle, double after) {
  const double bend = before - 2.0 * middle + after;
  if (bend >= 0.0) return {0.0, middle, 0.0};
  const double at = std::clamp(0.5 * (before - after) / bend, -0.5, 0.5);
  return {at, middle + 0.25 * (after - before) * at, bend};
}

/// Logarithms of a channel's cells ranked to a normal spread; 0 where the programme plays.
std::vector<float> ranked(const std::vector<float>& energy, const std::vector<char>& free) {
  std::vector<std::size_t> order;
  for (std::size_t k = 0; k < energy.size(); ++k)
    if (free[k] != 0) order.push_back(k);
  std::ranges::stable_sort(order, [&](auto a, auto b) { return energy[a] < energy[b]; });
  std::vector<float> out(energy.size());
  for (std::size_t r = 0; r < order.size(); ++r)
    out[order[r]] = static_cast<float>(
        normal_quantile((static_cast<double>(r) + 0.5) / static_cast<double>(order.size())));
  return out;
}

/// Running medians of `values` over 2 half + 1 entries, at every `step`-th and straight between.
std::vector<double> usual(const std::vector<double>& values, std::size_t half, std::size_t step) {
  std::vector<double> at;
  for (std::size_t k = 0; k < values.size() + step; k += step) {
    const std::size_t middle = std::min(k, values.size() - 1);
    const std::size_t first = middle > half ? middle - half : 0;
    const std::size_t last = std::min(values.size(), middle + half + 1);
    at.push_back(
        maths::median(std::vector<double>(values.begin() + static_cast<std::ptrdiff_t>(first),
                                          values.begin() + static_cast<std::ptrdiff_t>(last))));
  }
  std::vector<double> out(values.size());
  for (std::size_t k = 0; k < values.size(); ++k) {
    const double share = static_cast<double>(k % step) / static_cast<double>(step);
    out[k] = at[k / step] * (1.0 - share) + at[k / step + 1] * share;
  }
  return out;
}

/// Autocorrelation of one series by lag, whitened and clipped; not normalised.
std::vector<double> whitened_correlation(const std::vector<float>& series, double cell_s) {
  const std::size_t length = std::bit_ceil(2 * series.size());
  const signal::RealFft& fft = signal::shared_fft(length);
  signal::Aligned<float> samples(length);
  std::ranges::copy(series, samples.begin());
  signal::Aligned<std::complex<float>> spectrum(fft.bins());
  fft.forward(samples, spectrum);
  std::vector<double> power(fft.bins());
  for (std::size_t k = 0; k < power.size(); ++k)
    power[k] = static_cast<double>(std::norm(spectrum[k]));
  const double bin_Hz = 1.0 / (static_cast<double>(length) * cell_s);
  const auto half = std::max<std::size_t>(4, static_cast<std::size_t>(whiten_Hz / bin_Hz));
  const auto base = usual(power, half, std::max<std::size_t>(1, half / 8));
  double mean = 0.0;
  const auto low = std::max<std::size_t>(1, static_cast<std::size_t>(repeat_high_pass_Hz / bin_Hz));
  for (std::size_t k = 0; k < power.size(); ++k) {
    power[k] =
        base[k] > 0.0 ? std::min(power[k] / base[k] * std::numbers::ln2, most_times_usual) : 0.0;
    if (k >= low) mean += power[k];
  }
  mean /= static_cast<double>(power.size() - low);
  for (std::size_t k = 0; k < power.size(); ++k)
    spectrum[k] = k < low ? 0.0F : static_cast<float>(power[k] - mean);
  fft.inverse(spectrum, samples);
  return {samples.begin(), samples.begin() + static_cast<std::ptrdiff_t>(length / 2)};
}

/// Pairs of cells a lag apart that are both free of programme.
std::vector<double> pairs_of(const std::vector<char>& free) {
  const std::size_t length = std::bit_ceil(2 * free.size());
  const signal::RealFft& fft = signal::shared_fft(length);
  signal::Aligned<float> samples(length);
  for (std::size_t k = 0; k < free.size(); ++k) samples[k] = free[k] != 0 ? 1.0F : 0.0F;
  signal::Aligned<std::complex<float>> spectrum(fft.bins());
  fft.forward(samples, spectrum);
  for (auto& bin : spectrum) bin = std::norm(bin);
  fft.inverse(spectrum, samples);
  std::vector<double> pairs(length / 2);
  for (std::size_t k = 0; k < pairs.size(); ++k)
    pairs[k] =
        std::max(0.0, std::round(static_cast<double>(samples[k]) / static_cast<double>(length)));
  return pairs;
}

std::optional<Evidence> repeat(const TurnHeard& heard,
                               const std::vector<char>& free,
                               double least_turns) {
  const double cell_s = heard.cell_s;
  std::vector<double> z = whitened_correlation(ranked(heard.left, free), cell_s);
  const auto other = whitened_correlation(ranked(heard.right, free), cell_s);
  const auto pairs = pairs_of(free);
  const auto free_cells = static_cast<double>(std::ranges::count(free, 1));
  const auto least_pairs = std::max(1.0, (1.0 - 1.0 / least_turns) * 0.5 / slowest_Hz / cell_s);
  for (std::size_t k = 0; k < z.size(); ++k)
    z[k] = pairs[k] >= least_pairs ? (z[k] + other[k]) / std::sqrt(pairs[k]) : 0.0;

  const auto shortest = static_cast<std::size_t>(std::ceil(1.0 / fastest_Hz / cell_s));
  const auto longest = std::min(static_cast<std::size_t>(1.0 / slowest_Hz / cell_s),
                                static_cast<std::size_t>(free_cells / least_turns));
  std::vector<double> sizes;
  for (std::size_t k = shortest / 3; k < std::min(z.size(), 4 * shortest); ++k)
    if (z[k] != 0.0) sizes.push_back(std::abs(z[k]));
  if (sizes.empty() || longest <= shortest + 2 || longest + 1 >= z.size()) return {};
  const double spread = 1.4826 * maths::median(std::move(sizes));
  if (!(spread > 0.0)) return {};
  for (double& one : z) one /= spread;

  const auto near = [&](double lag) {  // the highest within a cell
    const auto k = static_cast<std::size_t>(std::lround(lag));
    return k >= 1 && k + 1 < z.size() ? std::max({z[k - 1], z[k], z[k + 1]}) : 0.0;
  };
  std::optional<std::size_t> best;
  double best_z = 0.0;
  std::size_t best_lags = 1;
  for (std::size_t k = shortest; k <= longest; ++k) {
    double sum = 0.0;
    for (std::size_t lags = 1; lags <= most_lags && lags * k + 1 < z.size(); ++lags) {
      if (!(z[lags * k] >= (lags == 1 ? 0.0 : each_lag_z)) || z[k] < each_lag_z) break;
      sum += z[lags * k];
      const double together = sum / std::sqrt(static_cast<double>(lags));
      if (together > best_z) {
        best = k;
        best_z = together;
        best_lags = lags;
      }
    }
  }
  if (!best) return {};
  const Vertex top = vertex(z[*best - 1], z[*best], z[*best + 1]);
  const double period_s = (static_cast<double>(*best) + top.at) * cell_s;
  // Noise of unit spread and the peak's own shape moves its top by 1/sqrt(z |z''|); the parabola knows a cell's
  // twelfth at best.
  const double sigma_cells = std::hypot(
      1.0 / std::sqrt(std::max(1.0, top.height) * std::max(0.5, -top.bend)), 1.0 / std::sqrt(12.0));
  Evidence found{
      .road = "repeat", .turn_Hz = 1.0 / period_s, .sigma_Hz = 0.0, .chance = 1.0, .rhythm_s = {}};
  found.sigma_Hz = sigma_cells * cell_s / (period_s * period_s);
  const double trials =
      static_cast<double>(longest - shortest + 1) * static_cast<double>(most_lags);
  found.chance = std::min(1.0, trials * normal_tail(best_z));
  const double over =
      best_z * std::sqrt(static_cast<double>(best_lags)) / static_cast<double>(best_lags);
  for (std::size_t part = 2; part <= finest_fraction; ++part) {
    const double lag = static_cast<double>(*best) / static_cast<double>(part);
    if (near(lag) > std::max(rhythm_z, rhythm_share * over)) found.rhythm_s = lag * cell_s;
  }
  return found;
}

/// Lines of a series at the turn and its multiples.
std::optional<Evidence> line(const std::string& road,
                             const std::vector<float>& series,
                             double step_s,
                             double highest_Hz) {
  const double duration_s = static_cast<double>(series.size()) * step_s;
  const double window_s = std::min(duration_s, line_turns / slowest_Hz);
  const auto length = static_cast<std::size_t>(window_s / step_s);
  const double from_Hz = std::max(slowest_Hz, least_line_turns / window_s);
  if (from_Hz >= fastest_Hz || length < 64) return {};
  const std::size_t padded = std::bit_ceil(8 * length);
  const signal::RealFft& fft = signal::shared_fft(padded);
  const double bin_Hz = 1.0 / (static_cast<double>(padded) * step_s);
  const double unit =
      1.0 / (static_cast<double>(length) * step_s) / bin_Hz;  // of resolution, in bins
  const auto first = static_cast<std::size_t>(std::ceil(from_Hz / bin_Hz));
  const auto last = static_cast<std::size_t>(fastest_Hz / bin_Hz);
  const auto lowest = static_cast<std::size_t>(std::ceil((beside_to + 1.0) * unit));
  std::vector<double> once(last + 1), comb(last + 1);
  std::vector<double> surprise(
      std::min(fft.bins(), static_cast<std::size_t>(highest_Hz / bin_Hz) + 1));
  std::vector<double> powers(surprise.size());
  std::size_t windows = 0;
  // Of a Hann window neighbours 1.5 units apart are as good as independent.
  const double beside = 2.0 * (beside_to - beside_from) / 1.5;
  signal::Aligned<float> samples(padded);
  signal::Aligned<std::complex<float>> spectrum(fft.bins());
  std::vector<double> sums(fft.bins() + 1);
  for (std::size_t from = 0; from + length <= series.size(); from += length, ++windows) {
    double mean = 0.0;
    for (std::size_t j = 0; j < length; ++j) mean += static_cast<double>(series[from + j]);
    mean /= static_cast<double>(length);
    std::ranges::fill(samples, 0.0F);
    for (std::size_t j = 0; j < length; ++j) {
      const double phase =
          2.0 * std::numbers::pi * (static_cast<double>(j) + 0.5) / static_cast<double>(length);
      samples[j] = static_cast<float>((static_cast<double>(series[from + j]) - mean) * 0.5 *
                                      (1.0 - std::cos(phase)));
    }
    fft.forward(samples, spectrum);
    for (std::size_t k = 0; k < fft.bins(); ++k)
      sums[k + 1] = sums[k] + static_cast<double>(std::norm(spectrum[k]));
    const auto mean_of = [&](double low, double high) {
      const auto a = static_cast<std::size_t>(std::max(1.0, std::round(low)));
      const auto b = std::min(fft.bins(), static_cast<std::size_t>(std::round(high)));
      return b > a ? (sums[b] - sums[a]) / static_cast<double>(b - a) : 0.0;
    };
    for (std::size_t k = lowest; k < surprise.size(); ++k) {
      const auto at = static_cast<double>(k);
      // The geometric mean of both sides goes straight through a slope.
      const double noise = std::sqrt(mean_of(at - beside_to * unit, at - beside_from * unit) *
                                     mean_of(at + beside_from * unit, at + beside_to * unit));
      const double power = static_cast<double>(std::norm(spectrum[k]));
      powers[k] += power;
      if (noise > 0.0) surprise[k] += beside * std::log1p(power / (beside * noise));
    }
  }
  for (std::size_t k = first; k <= last; ++k) {
    once[k] = surprise[k];
    for (std::size_t h = 1; h <= harmonics && h * k < surprise.size(); ++h)
      comb[k] += surprise[h * k];
  }
  const double trials =
      2.0 * 2.0 * (fastest_Hz - from_Hz) / bin_Hz / unit;  // oversampled by two, two sums
  Evidence found{.road = road, .turn_Hz = 0.0, .sigma_Hz = 0.0, .chance = 1.0, .rhythm_s = {}};
  const auto weigh = [&](const std::vector<double>& sum, std::size_t terms, double finer) {
    const auto top =
        std::max_element(sum.begin() + static_cast<std::ptrdiff_t>(first) + 1, sum.end() - 1);
    const auto k = static_cast<std::size_t>(top - sum.begin());
    // Without the first of them the multiples may be a beat's.
    if (gamma_tail(windows, once[k]) > 0.01) return;
    const double chance = std::min(1.0, trials * finer * gamma_tail(terms * windows, sum[k]));
    if (chance >= found.chance) return;
    const Vertex peak = vertex(sum[k - 1], sum[k], sum[k + 1]);
    found.turn_Hz = (static_cast<double>(k) + peak.at) * bin_Hz;
    found.sigma_Hz = bin_Hz / std::sqrt(std::max(-peak.bend, 1e-6));
    found.chance = chance;
  };
  weigh(once, 1, 1.0);
  weigh(comb, harmonics, static_cast<double>(harmonics));
  // Lines between the turn's multiples are as likely to be programme, and the turn's own one of them.
  const double turn_bins = found.turn_Hz / bin_Hz;
  const auto until = std::min(surprise.size(), static_cast<std::size_t>(other_to_Hz / bin_Hz));
  for (std::size_t k = lowest; turn_bins > 0.0 && k < until; ++k) {
    // A beat on a multiple of the turn towers over it; no usual warp's multiples do.
    if (powers[k] > beat_power * powers[static_cast<std::size_t>(std::lround(turn_bins))])
      found.rhythm_s = 1.0 / (static_cast<double>(k) * bin_Hz);
    const double off = std::remainder(static_cast<double>(k), turn_bins);
    if (std::abs(off) < other_from * unit && static_cast<double>(k) > 0.5 * turn_bins) continue;
    const double own = once[static_cast<std::size_t>(std::lround(turn_bins))];
    if (surprise[k] > other_share * own && trials * gamma_tail(windows, surprise[k]) < other_chance)
      found.rhythm_s = 1.0 / (static_cast<double>(k) * bin_Hz);
  }
  return found;
}

/// The longest run of cells free of programme, as [first, last).
std::pair<std::size_t, std::size_t> longest_run(const std::vector<char>& free) {
  std::pair<std::size_t, std::size_t> best{};
  for (std::size_t k = 0; k < free.size();) {
    const std::size_t from = k;
    while (k < free.size() && free[k] == free[from]) ++k;
    if (free[from] != 0 && k - from > best.second - best.first) best = {from, k};
  }
  return best;
}

/// The level of the longest quiet run, a median every twentieth of a second so that ticks have no say.
std::optional<Evidence> swing(const TurnHeard& heard, const std::vector<char>& free) {
  const auto [first, last] = longest_run(free);
  const auto step =
      std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(swing_step_s / heard.cell_s)));
  std::vector<float> level;
  for (std::size_t k = first; k + step <= last; k += step) {
    std::vector<float> cells;
    for (std::size_t j = k; j < k + step; ++j) cells.push_back(heard.left[j] + heard.right[j]);
    level.push_back(std::log(std::max(maths::median(std::move(cells)), 1e-30F)));
  }
  return line("swing", level, static_cast<double>(step) * heard.cell_s, 0.4 / swing_step_s);
}

/// The H test on ticks of the longest quiet run.
std::optional<Evidence> ticks(const TurnHeard& heard, const std::vector<char>& free) {
  const auto [first, last] = longest_run(free);
  const double from_s = static_cast<double>(first) * heard.cell_s;
  const double to_s = static_cast<double>(last) * heard.cell_s;
  std::vector<double> times;
  for (const double at_s : heard.ticks_s)
    if (at_s >= from_s && at_s < to_s && times.size() < most_ticks) times.push_back(at_s - from_s);
  if (times.size() < enough_ticks) return {};
  const double width_s = times.back();
  const double step_Hz = 1.0 / (width_s * static_cast<double>(tick_harmonics) * 4.0);
  const auto powers_at = [&](double turn_Hz) {
    std::array<std::complex<double>, tick_harmonics> sums{};
    for (const double at_s : times) {
      const auto once = std::polar(1.0, 2.0 * std::numbers::pi * turn_Hz * at_s);
      std::complex<double> power = 1.0;
      for (auto& sum : sums) sum += power *= once;
    }
    std::array<double, tick_harmonics> powers{};
    for (std::size_t m = 0; m < sums.size(); ++m)
      powers[m] = 2.0 * std::norm(sums[m]) / static_cast<double>(times.size());
    return powers;
  };
  const auto h_at = [&](double turn_Hz) {
    double z = 0.0, h = 0.0, taken = 0.0;
    for (const double power : powers_at(turn_Hz)) {
      z += power;
      h = std::max(h, z - taken);
      taken += 4.0;
    }
    return h;
  };
  Evidence found{.road = "ticks", .turn_Hz = 0.0, .sigma_Hz = 0.0, .chance = 1.0, .rhythm_s = {}};
  double best = 0.0;
  const double from_Hz = std::max(slowest_Hz, 4.0 / width_s);
  for (double turn_Hz = from_Hz; turn_Hz <= fastest_Hz; turn_Hz += step_Hz)
    if (const double h = h_at(turn_Hz); h > best) {
      best = h;
      found.turn_Hz = turn_Hz;
    }
  if (!(best > 0.0)) return {};
  const Vertex peak = vertex(h_at(found.turn_Hz - step_Hz), best, h_at(found.turn_Hz + step_Hz));
  found.turn_Hz += peak.at * step_Hz;
  // H is twice a logarithm of likelihoods.
  found.sigma_Hz = step_Hz / std::sqrt(std::max(-0.5 * peak.bend, 1e-6));
  const double trials =
      2.0 * (fastest_Hz - from_Hz) * width_s * static_cast<double>(tick_harmonics);
  found.chance = std::min(1.0, trials * std::exp(-0.4 * best));
  const auto powers = powers_at(found.turn_Hz);
  double all = 0.0;
  for (const double power : powers) all += power;
  for (std::size_t part = 2; part <= finest_fraction; ++part) {
    double multiples = 0.0;
    for (std::size_t m = part; m <= powers.size(); m += part) multiples += powers[m - 1];
    // One mark a turn leaves them 1/part.
    if (multiples > rhythm_powers * all)
      found.rhythm_s = 1.0 / (found.turn_Hz * static_cast<double>(part));
  }
  return found;
}

std::string period_text(const Evidence& one) {
  return fmt::format("{:.3f} s ({:.2f} rpm, {})", 1.0 / one.turn_Hz, 60.0 * one.turn_Hz, one.road);
}

std::optional<double> usual_speed(double rpm) {
  std::optional<double> nearest;
  for (const double nominal : nominal_rpm)
    if (std::abs(rpm / nominal - 1.0) < nominal_width &&
        (!nearest || std::abs(rpm - nominal) < std::abs(rpm - *nearest)))
      nearest = nominal;
  return nearest;
}

/// A disc bent like a saddle has its strongest line at two a turn: 66.7 rpm, which is no record's, is 33 1/3.
void halve_saddle(Evidence& one) {
  if (usual_speed(60.0 * one.turn_Hz) || !usual_speed(30.0 * one.turn_Hz)) return;
  one.turn_Hz /= 2.0;
  one.sigma_Hz /= 2.0;
}

works::Turn turn_of(const std::vector<Evidence>& sure) {
  works::Turn turn;
  double weight = 0.0, sum = 0.0;
  for (const Evidence& one : sure) {
    turn.evidence.push_back(one.road);
    weight += 1.0 / (one.sigma_Hz * one.sigma_Hz);
    sum += one.turn_Hz / (one.sigma_Hz * one.sigma_Hz);
  }
  turn.rpm = 60.0 * sum / weight;
  turn.sigma_rpm = 60.0 / std::sqrt(weight);
  turn.chance = std::max(least_chance, sure.front().chance);
  turn.nominal_rpm = usual_speed(turn.rpm);
  return turn;
}

}  // namespace

std::vector<char> surface_cells(const TurnHeard& heard) {
  const std::size_t cells = heard.left.size();
  std::vector<char> free(cells);
  const auto second = static_cast<std::size_t>(std::lround(second_s / heard.cell_s));
  if (second == 0 || cells < second) return free;
  struct Second {
    std::size_t from;
    double level;
    bool programme;
  };
  std::vector<Second> seconds;
  double quietest = std::numeric_limits<double>::infinity();
  for (std::size_t from = 0; from + second <= cells; from += second / 2) {
    std::vector<float> both, vertical;
    for (std::size_t k = from; k < from + second; ++k) {
      both.push_back(heard.left[k] + heard.right[k]);
      vertical.push_back(heard.vertical[k]);
    }
    const auto level = static_cast<double>(maths::median(std::move(both)));
    const auto side = static_cast<double>(maths::median(std::move(vertical)));
    const double lateral = 0.5 * level - side;
    const auto frame = [&](std::size_t cell) {
      return std::min(
          heard.tonal.size(),
          static_cast<std::size_t>(static_cast<double>(cell) * heard.cell_s / heard.frame_s));
    };
    const std::vector<float> tonal(
        heard.tonal.begin() + static_cast<std::ptrdiff_t>(frame(from)),
        heard.tonal.begin() + static_cast<std::ptrdiff_t>(frame(from + second)));
    const bool tuned = maths::median_or(tonal, 0.0F) > tonal_programme;
    seconds.push_back({from, level, tuned || side < free_vertical * lateral});
    if (level > 0.0) quietest = std::min(quietest, level);
  }
  for (const Second& one : seconds)
    if (one.level > 0.0 && one.level <= as_quiet * quietest && !one.programme)
      std::fill_n(free.begin() + static_cast<std::ptrdiff_t>(one.from), second, char{1});
  return free;
}

TurnFound find_turn(const TurnHeard& heard, const TurnSetting& setting) {
  EXPECTS(heard.frame_s > 0.0);
  EXPECTS(heard.left.size() == heard.right.size() && heard.left.size() == heard.vertical.size());
  const double duration_s = static_cast<double>(heard.left.size()) * heard.cell_s;
  const double least_s = setting.least_turns / fastest_Hz;
  if (duration_s < least_s)
    return {
        {},
        fmt::format(
            "the capture is shorter than {:g} turns of any record: nothing can be seen to recur",
            setting.least_turns)};
  const auto free = surface_cells(heard);
  const double free_s = static_cast<double>(std::ranges::count(free, 1)) * heard.cell_s;

  std::vector<Evidence> all;
  const auto add = [&](const std::optional<Evidence>& one) {
    if (one && roads * one->chance < setting.sure_chance && one->sigma_Hz > 0.0)
      all.push_back(*one);
  };
  if (heard.slow_rate_Hz > 0.0) add(line("warp", heard.slow, 1.0 / heard.slow_rate_Hz, 8.0));
  if (free_s >= least_s) {
    add(repeat(heard, free, setting.least_turns));
    add(swing(heard, free));
    add(ticks(heard, free));
  }
  for (Evidence& one : all) {
    one.chance *= roads;
    if (one.road == "warp" || one.road == "swing") halve_saddle(one);
  }
  std::ranges::stable_sort(all, {}, &Evidence::chance);
  if (all.empty() && free_s < least_s)
    return {
        {},
        fmt::format(
            "{:.1f} s of the capture are free of programme, less than {:g} turns, and no line of a "
            "warped disc stands out below it",
            free_s,
            setting.least_turns)};
  if (all.empty())
    return {{},
            fmt::format("in {:.1f} s free of programme nothing recurs once a turn that chance "
                        "would not bring one "
                        "time in {:.0f}",
                        free_s,
                        1.0 / setting.sure_chance)};
  for (const Evidence& one : all)
    if (one.rhythm_s)
      return {
          {},
          fmt::format(
              "what recurs after {} recurs after {:.3f} s too: a rhythm, or several marks a turn",
              period_text(one),
              *one.rhythm_s)};
  for (const Evidence& one : all)
    if (std::abs(one.turn_Hz / all.front().turn_Hz - 1.0) > 0.01)
      return {{},
              fmt::format(
                  "the evidence disagrees: {} and {}", period_text(all.front()), period_text(one))};
  return {turn_of(all), {}};
}

}  // namespace goodside::listen
