#include "listen/fault_holder.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <vector>

#include "base/expects.hpp"
#include "signal/fir.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t order = 32;
constexpr double context_s = 25e-3;
constexpr double guard_s = 0.4e-3;
constexpr double bass_rate_Hz = 8000.0;
constexpr double loss_s =
    2e-3;  // a shorter loss cannot be told from a tick that opposes the programme
constexpr double unforeseen_by =
    2.5;                       // mean square over what is usual: an impulse of the recording's own
constexpr double alike = 0.5;  // correlation of two renderings of one impulse
constexpr double loss_likeness = 0.8;  // of the difference to the recording that has more

/// Samples [from, to) of a recording, zero outside it.
std::vector<float> excerpt(const signal::Aligned<float>& samples,
                           std::ptrdiff_t from,
                           std::ptrdiff_t to) {
  std::vector<float> part(static_cast<std::size_t>(to - from), 0.0F);
  const auto begin = std::max<std::ptrdiff_t>(0, from);
  const auto end = std::min(std::ssize(samples), to);
  if (begin < end)
    std::copy(samples.begin() + begin, samples.begin() + end, part.begin() + (begin - from));
  return part;
}

void add_lags(std::span<const float> samples, std::array<double, order + 1>& lags, double& weight) {
  if (samples.size() <= order) return;
  const std::vector<float> window = signal::hann(samples.size());
  std::vector<float> framed(samples.size());
  signal::apply_window(samples, window, framed);
  weight += 0.375 * static_cast<double>(samples.size());
  for (std::size_t lag = 0; lag <= order; ++lag)
    for (std::size_t j = lag; j < framed.size(); ++j)
      lags[lag] += static_cast<double>(framed[j]) * static_cast<double>(framed[j - lag]);
}

/// The prediction-error filter of these lags, by Levinson's recursion, scaled to give errors of unit power: so
/// channels of unlike loudness count alike.
std::vector<float> error_filter(const std::array<double, order + 1>& lags, double weight) {
  std::array<double, order + 1> a{1.0};
  double error = lags[0] * (1.0 + 1e-7) + 1e-20;
  for (std::size_t m = 1; m <= order; ++m) {
    double reflection = lags[m];
    for (std::size_t j = 1; j < m; ++j) reflection += a[j] * lags[m - j];
    reflection = -reflection / error;
    std::array<double, order + 1> next = a;
    for (std::size_t j = 1; j < m; ++j) next[j] = a[j] + reflection * a[m - j];
    next[m] = reflection;
    a = next;
    error *= 1.0 - reflection * reflection;
  }
  const double gain = std::sqrt(weight / std::max(error, 1e-20));
  std::vector<float> reversed;  // as slide_filter wants it
  for (std::size_t j = order + 1; j-- > 0;) reversed.push_back(static_cast<float>(gain * a[j]));
  return reversed;
}

std::vector<float> thinned(const std::vector<float>& samples,
                           std::size_t factor,
                           const std::vector<float>& taps) {
  std::vector<float> padded(samples.size() + taps.size() - 1, 0.0F);
  std::ranges::copy(samples, padded.begin() + static_cast<std::ptrdiff_t>(taps.size() / 2));
  std::vector<float> out(samples.size() / factor);
  signal::slide_filter(padded, 0, factor, taps, out);
  return out;
}

struct Energies {
  double first{}, second{}, common{};
  double samples{};
};

/// Energies over the event after the prediction filter; `event` counts in samples of `a` and `b`.
void add_energies(const std::vector<float>& a,
                  const std::vector<float>& b,
                  SampleSpan event,
                  std::size_t guard,
                  Energies& energies) {
  const std::size_t from = std::max(order, event.from > guard ? event.from - guard : 0);
  const std::size_t to = std::min(a.size(), event.to + guard);
  if (to <= from) return;
  const auto unforeseen = [&](const std::vector<float>& samples) {
    std::array<double, order + 1> lags{};
    double weight = 0.0;
    add_lags(std::span{samples}.first(from), lags, weight);
    add_lags(std::span{samples}.subspan(to), lags, weight);
    std::vector<float> out(to - from);
    signal::slide_filter(samples, from - order, 1, error_filter(lags, weight), out);
    return out;
  };
  const std::vector<float> e = unforeseen(a);
  const std::vector<float> f = unforeseen(b);
  for (std::size_t j = 0; j < e.size(); ++j) {
    const auto x = static_cast<double>(e[j]);
    const auto y = static_cast<double>(f[j]);
    energies.first += x * x;
    energies.second += y * y;
    energies.common += x * y;
  }
  energies.samples += static_cast<double>(e.size());
}

/// Likeness of the difference to the recording that has more energy, signed: positive where the first has more.
double likeness(const StereoSamples& a, const StereoSamples& b, SampleSpan event) {
  std::array<double, 2> own{};
  std::array<double, 2> cross{};
  double difference = 0.0;
  for (std::size_t i = 0; i < 2; ++i)
    for (std::size_t j = event.from; j < event.to; ++j) {
      const auto x = static_cast<double>(a[i][j]);
      const auto y = static_cast<double>(b[i][j]);
      own[0] += x * x;
      own[1] += y * y;
      cross[0] += x * (x - y);
      cross[1] += y * (y - x);
      difference += (x - y) * (x - y);
    }
  const std::size_t more = own[0] >= own[1] ? 0 : 1;
  const double like = cross[more] / std::sqrt(own[more] * difference + 1e-30);
  return more == 0 ? like : -like;
}

}  // namespace

Holder fault_holder(
    const StereoSamples& a, const StereoSamples& b, SampleSpan event, bool bass, double rate_Hz) {
  EXPECTS(a[0].size() == b[0].size() && event.to <= a[0].size() && event.from < event.to);
  const auto context = static_cast<std::ptrdiff_t>((bass ? 4.0 : 1.0) * context_s * rate_Hz);
  const auto first = static_cast<std::ptrdiff_t>(event.from) - context;
  const auto last = static_cast<std::ptrdiff_t>(event.to) + context;
  const std::size_t factor =
      bass ? std::max<std::size_t>(1, static_cast<std::size_t>(rate_Hz / bass_rate_Hz)) : 1;
  std::vector<float> taps{1.0F};
  if (factor > 1) taps = signal::low_pass_taps(0.4 / static_cast<double>(factor), 6 * factor, 5.0);
  const SampleSpan within{static_cast<std::size_t>(context) / factor,
                          (static_cast<std::size_t>(context) + event.to - event.from) / factor + 1};
  const auto guard = static_cast<std::size_t>(guard_s * rate_Hz / static_cast<double>(factor)) + 1;
  Energies energies;
  for (std::size_t i = 0; i < 2; ++i)
    add_energies(thinned(excerpt(a[i], first, last), factor, taps),
                 thinned(excerpt(b[i], first, last), factor, taps),
                 within,
                 guard,
                 energies);
  const double together = energies.common / std::sqrt(energies.first * energies.second + 1e-20);
  if (energies.second > unforeseen_by * energies.samples && together > alike) return Holder::both;
  if (static_cast<double>(event.to - event.from) >= loss_s * rate_Hz) {
    const double like = likeness(a, b, event);
    const double more = like > 0.0 ? energies.first : energies.second;
    if (std::abs(like) > loss_likeness && more < unforeseen_by * energies.samples)
      return like > 0.0 ? Holder::second : Holder::first;
  }
  return energies.first >= energies.second ? Holder::first : Holder::second;
}

}  // namespace goodside::listen
