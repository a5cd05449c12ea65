#include "listen/features.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <cstdint>

#include "base/expects.hpp"
#include "signal/clones.hpp"
#include "signal/fft.hpp"
#include "signal/fir.hpp"
#include "signal/window.hpp"

namespace goodside::listen {
namespace {

constexpr double lowest_Hz = 150.0;
constexpr double highest_Hz = 7500.0;
constexpr double floor_share = 1e-3;
constexpr std::size_t mean_reach = 100;  // frames on each side of the running mean: 2 s in all

GOODSIDE_CLONES float energy_of(const float* values, std::size_t count) {
  float sum = 0.0F;
#pragma omp simd reduction(+ : sum)
  for (std::size_t j = 0; j < count; ++j) sum += values[j] * values[j];
  return sum;
}

struct Sums {
  float left{}, right{}, side{}, peak{};
};

GOODSIDE_CLONES Sums survey(const float* left, const float* right, std::size_t count) {
  Sums sums;
  float left_energy = 0.0F;
  float right_energy = 0.0F;
  float side_energy = 0.0F;
  float peak = 0.0F;
#pragma omp simd reduction(+ : left_energy, right_energy, side_energy) reduction(max : peak)
  for (std::size_t j = 0; j < count; ++j) {
    const float a = left[j];
    const float b = right[j];
    left_energy += a * a;
    right_energy += b * b;
    side_energy += (a - b) * (a - b);
    const float louder = std::max(std::abs(a), std::abs(b));
    peak = peak > louder ? peak : louder;
  }
  return {left_energy, right_energy, side_energy, peak};
}

/// First bin of each band and the end of the last.
std::array<std::size_t, Features::bands + 1> band_edges(double rate_Hz, std::size_t length) {
  std::array<std::size_t, Features::bands + 1> edges{};
  const double top_Hz = std::min(highest_Hz, 0.45 * rate_Hz);
  for (std::size_t b = 0; b <= Features::bands; ++b) {
    const double share = static_cast<double>(b) / static_cast<double>(Features::bands);
    const double edge_Hz = lowest_Hz * std::pow(top_Hz / lowest_Hz, share);
    edges[b] =
        static_cast<std::size_t>(std::lround(edge_Hz * static_cast<double>(length) / rate_Hz));
    if (b > 0) edges[b] = std::max(edges[b], edges[b - 1] + 1);
  }
  return edges;
}

/// Energies become logarithms over the band's floor, less their running mean.
void level_by_band(Features& features) {
  const std::size_t frames = features.frames();
  std::vector<double> running(frames + 1);
  for (std::size_t b = 0; b < Features::bands; ++b) {
    double mean = 0.0;
    for (std::size_t k = 0; k < frames; ++k)
      mean += static_cast<double>(features.values[k * Features::bands + b]);
    const double floor = floor_share * mean / static_cast<double>(frames) + 1e-30;
    for (std::size_t k = 0; k < frames; ++k) {
      float& value = features.values[k * Features::bands + b];
      value = static_cast<float>(std::log1p(static_cast<double>(value) / floor));
      running[k + 1] = running[k] + static_cast<double>(value);
    }
    for (std::size_t k = 0; k < frames; ++k) {
      const std::size_t from = k > mean_reach ? k - mean_reach : 0;
      const std::size_t to = std::min(frames, k + mean_reach + 1);
      const double local = (running[to] - running[from]) / static_cast<double>(to - from);
      features.values[k * Features::bands + b] -= static_cast<float>(local);
    }
  }
}

}  // namespace

Result<Features> hear_features(signal::SampleSource& source,
                               const std::function<bool(double)>& go_on) {
  const double rate_Hz = source.sample_rate_Hz();
  const auto channels = static_cast<std::size_t>(source.channels());
  EXPECTS(channels == 1 || channels == 2);
  std::size_t length = 256;
  while (static_cast<double>(length) < 0.02 * rate_Hz) length *= 2;
  const signal::RealFft& fft = signal::shared_fft(length);
  const std::vector<float> window = signal::hann(length);
  const auto edges = band_edges(rate_Hz, length);

  const auto total = static_cast<double>(source.frames());
  const auto frames = static_cast<std::size_t>(std::floor(total / rate_Hz * Features::rate_Hz));
  Features features;
  features.values.resize(frames * Features::bands);
  if (frames == 0) return features;

  constexpr std::size_t batch = 100;  // frames to one read: a second
  const auto half = static_cast<std::int64_t>(length / 2);
  const auto start_of = [&](std::size_t k) {
    return std::llround(static_cast<double>(k) * rate_Hz / Features::rate_Hz) - half;
  };
  std::vector<float> interleaved;
  std::vector<float> left;
  std::vector<float> right;
  signal::Aligned<float> frame(length);
  signal::Aligned<std::complex<float>> spectrum(fft.bins());
  double left_energy = 0.0;
  double right_energy = 0.0;
  double side_energy = 0.0;
  for (std::size_t first = 0; first < frames; first += batch) {
    const std::size_t last = std::min(frames, first + batch);
    const std::int64_t from = start_of(first);
    const auto count = static_cast<std::size_t>(start_of(last - 1) - from) + length;
    interleaved.resize(count * channels);
    if (auto read = source.read(from, interleaved); !read) return read.error();
    left.resize(count);
    right.resize(count);
    if (channels == 2) {
      signal::split_pairs(interleaved, left, right);
    } else {
      left = interleaved;
      right = interleaved;
    }
    const Sums sums = survey(left.data(), right.data(), count);
    left_energy += static_cast<double>(sums.left);
    right_energy += static_cast<double>(sums.right);
    side_energy += static_cast<double>(sums.side);
    features.peak = std::max(features.peak, static_cast<double>(sums.peak));
    for (std::size_t k = first; k < last; ++k) {
      const auto at = static_cast<std::size_t>(start_of(k) - from);
      for (std::size_t i = 0; i < channels; ++i) {
        signal::apply_window(std::span{i == 0 ? left : right}.subspan(at, length), window, frame);
        fft.forward(frame, spectrum);
        const auto* parts = reinterpret_cast<const float*>(spectrum.data());  // re, im in turn
        for (std::size_t b = 0; b < Features::bands; ++b)
          features.values[k * Features::bands + b] +=
              energy_of(parts + 2 * edges[b], 2 * (edges[b + 1] - edges[b]));
      }
    }
    if (!go_on(static_cast<double>(last) / static_cast<double>(frames)))
      return Error{Fault::conflict, "stopped before the end"};
  }
  const double both = left_energy + right_energy;
  if (!(both > 0.0))
    return Error{Fault::bad_input, "every sample is zero: there is nothing to hear"};
  features.rms = std::sqrt(0.5 * both / total);
  features.side_share = 0.5 * side_energy / both;
  level_by_band(features);
  return features;
}

}  // namespace goodside::listen
