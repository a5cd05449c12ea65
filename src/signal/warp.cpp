#include "signal/warp.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <deque>
#include <limits>
#include <mutex>
#include <numbers>
#include <vector>

#include "base/expects.hpp"
#include "signal/clones.hpp"
#include "signal/window.hpp"

namespace goodside::signal {
namespace {

struct Table {
  const float* rows;
  std::size_t taps;
  double phases;
};

/// Where one position reads: its row of the kernel, how far it lies towards the next, and the first sample.
struct Reading {
  const float* weights;
  const float* next;
  float share;
  std::int64_t first;
};

[[gnu::always_inline]] inline Reading reading_at(const Table& table, double position) {
  const auto below = static_cast<std::int64_t>(position);
  const double phase = (position - static_cast<double>(below)) * table.phases;
  const auto row = static_cast<std::size_t>(phase);
  const float* weights = table.rows + row * table.taps;
  return {weights,
          weights + table.taps,
          static_cast<float>(phase - static_cast<double>(row)),
          below - static_cast<std::int64_t>(table.taps / 2) + 1};
}

/// Positions whose whole kernel lies inside the samples; two at a time, so that their sums do not wait on each other.
GOODSIDE_CLONES void read_inside(const Table& table,
                                 const float* left,
                                 const float* right,
                                 const double* positions,
                                 float* out_left,
                                 float* out_right,
                                 std::size_t count) {
  const std::size_t taps = table.taps;
  for (std::size_t k = 0; k < count; k += 2) {
    const std::size_t other = k + 1 < count ? k + 1 : k;
    const Reading p = reading_at(table, positions[k]);
    const Reading q = reading_at(table, positions[other]);
    const float* p_left = left + p.first;
    const float* p_right = right + p.first;
    const float* q_left = left + q.first;
    const float* q_right = right + q.first;
    float sum_p_left = 0.0F;
    float sum_p_right = 0.0F;
    float sum_q_left = 0.0F;
    float sum_q_right = 0.0F;
#pragma omp simd reduction(+ : sum_p_left, sum_p_right, sum_q_left, sum_q_right)
    for (std::size_t j = 0; j < taps; ++j) {
      const float p_weight = p.weights[j] + p.share * (p.next[j] - p.weights[j]);
      const float q_weight = q.weights[j] + q.share * (q.next[j] - q.weights[j]);
      sum_p_left += p_weight * p_left[j];
      sum_p_right += p_weight * p_right[j];
      sum_q_left += q_weight * q_left[j];
      sum_q_right += q_weight * q_right[j];
    }
    out_left[k] = sum_p_left;
    out_right[k] = sum_p_right;
    out_left[other] = sum_q_left;
    out_right[other] = sum_q_right;
  }
}

/// The same of one channel.
GOODSIDE_CLONES void read_one_inside(const Table& table,
                                     const float* samples,
                                     const double* positions,
                                     float* out,
                                     std::size_t count) {
  const std::size_t taps = table.taps;
  for (std::size_t k = 0; k < count; k += 2) {
    const std::size_t other = k + 1 < count ? k + 1 : k;
    const Reading p = reading_at(table, positions[k]);
    const Reading q = reading_at(table, positions[other]);
    const float* p_samples = samples + p.first;
    const float* q_samples = samples + q.first;
    float sum_p = 0.0F;
    float sum_q = 0.0F;
#pragma omp simd reduction(+ : sum_p, sum_q)
    for (std::size_t j = 0; j < taps; ++j) {
      sum_p += (p.weights[j] + p.share * (p.next[j] - p.weights[j])) * p_samples[j];
      sum_q += (q.weights[j] + q.share * (q.next[j] - q.weights[j])) * q_samples[j];
    }
    out[k] = sum_p;
    out[other] = sum_q;
  }
}

/// Eight floats in one register, or in two.
using Lanes [[gnu::vector_size(32)]] = float;
constexpr std::size_t lanes = 8;
constexpr std::size_t coarse_phases = 128;
constexpr std::size_t terms = 3;   // of the parabola that a tap follows about a coarse phase
constexpr double farthest = 0.03;  // from it [samples]: there and half way the parabola is exact
constexpr double steady = 0.008;   // off a sample a step: no eight runs at more

/// Eight neighbouring positions: all read by the kernel of one phase, each `away` from it.
struct Eight {
  const float* kernel;
  std::int64_t first;
  float away[lanes];
};

/// By the phase nearest to their middle; false where they run too far from it.
[[gnu::always_inline]] inline bool gather(const float* kernels,
                                          std::size_t taps,
                                          const double* positions,
                                          Eight& eight) {
  constexpr auto half_way = 0.5 * static_cast<double>(lanes - 1);
  constexpr auto phases = static_cast<double>(coarse_phases);
  const double middle = 0.5 * (positions[0] + positions[lanes - 1]) - half_way;
  const auto below = static_cast<std::int64_t>(middle);
  const auto row = static_cast<std::size_t>((middle - static_cast<double>(below)) * phases + 0.5);
  const double from = static_cast<double>(below) + static_cast<double>(row) / phases;
  double most = 0.0;
  for (std::size_t k = 0; k < lanes; ++k) {
    const double away = positions[k] - from - static_cast<double>(static_cast<int>(k));
    most = std::max(most, std::abs(away));
    eight.away[k] = static_cast<float>(away);
  }
  eight.kernel = kernels + row * taps * terms;
  eight.first = below - static_cast<std::int64_t>(taps / 2) + 1;
  return most <= farthest;
}

template <std::size_t channels>
[[gnu::always_inline]] inline void read_eight(const Eight& eight,
                                              std::size_t taps,
                                              const std::array<const float*, 2>& in,
                                              const std::array<float*, 2>& out,
                                              std::size_t k) {
  Lanes value[channels] = {};
  Lanes slope[channels] = {};
  Lanes bend[channels] = {};
  const float* tap = eight.kernel;
  for (std::size_t j = 0; j < taps; ++j, tap += terms) {
    for (std::size_t i = 0; i < channels; ++i) {
      Lanes x;
      std::memcpy(&x, in[i] + eight.first + static_cast<std::ptrdiff_t>(j), sizeof x);
      value[i] += tap[0] * x;
      slope[i] += tap[1] * x;
      bend[i] += tap[2] * x;
    }
  }
  Lanes away;
  std::memcpy(&away, eight.away, sizeof away);
  for (std::size_t i = 0; i < channels; ++i) {
    const Lanes sum = value[i] + away * (slope[i] + away * bend[i]);
    std::memcpy(out[i] + k, &sum, sizeof sum);
  }
}

/// Positions inside the samples, an eight at a time, as far as they run at nearly a sample a step: how many were read.
GOODSIDE_CLONES std::size_t read_steadily(const float* kernels,
                                          std::size_t taps,
                                          const std::array<const float*, 2>& in,
                                          const double* positions,
                                          const std::array<float*, 2>& out,
                                          std::size_t count) {
  std::size_t k = 0;
  for (; k + lanes <= count; k += lanes) {
    Eight eight{};
    if (!gather(kernels, taps, positions + k, eight)) break;
    if (in[1] != in[0])
      read_eight<2>(eight, taps, in, out, k);
    else
      read_eight<1>(eight, taps, in, out, k);
  }
  return k;
}

struct Range {
  double lowest, highest;
};

/// Where `count` positions from the `from`th on lie, and the range of them.
GOODSIDE_CLONES Range place(const WarpReader::Cubic& cubic,
                            std::size_t from,
                            double* positions,
                            std::size_t count) {
  const auto start = static_cast<double>(from);
  double lowest = std::numeric_limits<double>::infinity();
  double highest = -lowest;
#pragma omp simd reduction(min : lowest) reduction(max : highest)
  for (std::size_t k = 0; k < count; ++k) {
    const double t = start + static_cast<double>(static_cast<std::int32_t>(k));
    const double at = cubic.first + t * (cubic.rate + t * (cubic.bend + t * cubic.twist));
    positions[k] = at;
    lowest = std::min(lowest, at);
    highest = std::max(highest, at);
  }
  return {lowest, highest};
}

}  // namespace

struct WarpReader::Tables {
  static constexpr std::size_t phases = 512;

  Tables(double cutoff_of_rate, std::size_t taps_of_row);

  double cutoff;
  std::size_t taps;
  std::vector<float> rows;       // phases + 1, of `taps`
  std::vector<float> parabolas;  // a row a coarse phase: each tap's value, slope, half its bend
};

WarpReader::Tables::Tables(double cutoff_of_rate, std::size_t taps_of_row)
    : cutoff{cutoff_of_rate}, taps{taps_of_row} {
  constexpr double beta = 9.0;
  const double reach = 0.5 * static_cast<double>(taps);
  std::vector<double> row(taps);
  const auto fill_row = [&](double fraction) {
    double sum = 0.0;
    for (std::size_t j = 0; j < taps; ++j) {
      const double u = fraction + reach - 1.0 - static_cast<double>(j);
      const double argument = 2.0 * std::numbers::pi * cutoff * u;
      const double sinc = std::abs(u) < 1e-12 ? 1.0 : std::sin(argument) / argument;
      // Held beyond its edge: a parabola reaches a little over it.
      row[j] = sinc * kaiser(std::min(1.0, std::abs(u / reach)), beta);
      sum += row[j];
    }
    for (double& tap : row) tap /= sum;
  };
  rows.resize((phases + 1) * taps);
  for (std::size_t phase = 0; phase <= phases; ++phase) {
    fill_row(static_cast<double>(phase) / static_cast<double>(phases));
    for (std::size_t j = 0; j < taps; ++j) rows[phase * taps + j] = static_cast<float>(row[j]);
  }
  parabolas.resize((coarse_phases + 1) * taps * terms);
  for (std::size_t phase = 0; phase <= coarse_phases; ++phase) {
    const double fraction = static_cast<double>(phase) / static_cast<double>(coarse_phases);
    fill_row(fraction - farthest);
    const std::vector<double> before = row;
    fill_row(fraction + farthest);
    const std::vector<double> after = row;
    fill_row(fraction);
    for (std::size_t j = 0; j < taps; ++j) {
      float* tap = &parabolas[(phase * taps + j) * terms];
      tap[0] = static_cast<float>(row[j]);
      tap[1] = static_cast<float>((after[j] - before[j]) / (2.0 * farthest));
      tap[2] =
          static_cast<float>((after[j] - 2.0 * row[j] + before[j]) / (2.0 * farthest * farthest));
    }
  }
}

std::shared_ptr<const WarpReader::Tables> WarpReader::tables_of(double cutoff, std::size_t taps) {
  constexpr std::size_t most = 8;
  static std::mutex lock;
  static std::deque<std::shared_ptr<const Tables>> kept;
  const std::lock_guard guard{lock};
  for (const auto& tables : kept)
    if (tables->cutoff == cutoff && tables->taps == taps) return tables;
  if (kept.size() == most) kept.pop_front();
  return kept.emplace_back(std::make_shared<const Tables>(cutoff, taps));
}

WarpReader::WarpReader(double cutoff, std::size_t half) {
  EXPECTS(cutoff > 0.0 && cutoff <= 0.5 && half >= 2);
  const auto widened =
      static_cast<std::size_t>(std::ceil(static_cast<double>(half) * 0.5 / cutoff));
  taps_ = 2 * ((widened + 3) / 4 * 4);
  tables_ = tables_of(cutoff, taps_);
}

void WarpReader::read(std::span<const std::span<const float>> channels,
                      const Cubic& position,
                      std::span<const std::span<float>> out) const {
  EXPECTS(!channels.empty() && channels.size() <= 2 && out.size() == channels.size());
  const Table table{tables_->rows.data(), taps_, static_cast<double>(Tables::phases)};
  const std::span<const float> left = channels[0];
  const std::span<const float> right = channels.back();
  const auto available = static_cast<std::int64_t>(left.size());
  const auto half = static_cast<std::int64_t>(taps_ / 2);
  constexpr std::size_t block = 256;
  double positions[block];
  float second[block];
  std::vector<float> edge;
  const std::size_t count = out[0].size();
  const std::array<const float*, 2> in{left.data(), right.data()};
  const bool is_steady = std::abs(position.rate - 1.0) < steady;
  for (std::size_t from = 0; from < count; from += block) {
    const std::size_t width = std::min(block, count - from);
    const auto [lowest, highest] = place(position, from, positions, width);
    const bool inside =
        lowest >= static_cast<double>(half) && highest < static_cast<double>(available - half - 1);
    float* out_left = out[0].data() + from;
    float* out_right = out.size() > 1 ? out[1].data() + from : second;
    if (inside) {
      const std::size_t done =
          is_steady
              ? read_steadily(
                    tables_->parabolas.data(), taps_, in, positions, {out_left, out_right}, width)
              : 0;
      const std::size_t rest = width - done;
      if (out.size() > 1)
        read_inside(table,
                    left.data(),
                    right.data(),
                    positions + done,
                    out_left + done,
                    out_right + done,
                    rest);
      else
        read_one_inside(table, left.data(), positions + done, out_left + done, rest);
      continue;
    }
    edge.assign(2 * taps_, 0.0F);
    for (std::size_t k = 0; k < width; ++k) {
      const double below = std::floor(positions[k]);
      const std::int64_t first = static_cast<std::int64_t>(below) - half + 1;
      for (std::size_t j = 0; j < taps_; ++j) {
        const std::int64_t index = first + static_cast<std::int64_t>(j);
        const bool known = index >= 0 && index < available;
        edge[j] = known ? left[static_cast<std::size_t>(index)] : 0.0F;
        edge[taps_ + j] = known ? right[static_cast<std::size_t>(index)] : 0.0F;
      }
      const double local = positions[k] - below + static_cast<double>(half - 1);
      read_inside(table, edge.data(), edge.data() + taps_, &local, out_left + k, out_right + k, 1);
    }
  }
}

}  // namespace goodside::signal
