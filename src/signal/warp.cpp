#include "signal/warp.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>

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

}  // namespace

WarpReader::WarpReader(double cutoff, std::size_t half) {
  EXPECTS(cutoff > 0.0 && cutoff <= 0.5 && half >= 2);
  const auto widened =
      static_cast<std::size_t>(std::ceil(static_cast<double>(half) * 0.5 / cutoff));
  taps_ = 2 * ((widened + 3) / 4 * 4);
  table_.resize((phases_ + 1) * taps_);
  constexpr double beta = 9.0;
  const double reach = 0.5 * static_cast<double>(taps_);
  std::vector<double> row(taps_);
  for (std::size_t phase = 0; phase <= phases_; ++phase) {
    const double fraction = static_cast<double>(phase) / static_cast<double>(phases_);
    double sum = 0.0;
    for (std::size_t j = 0; j < taps_; ++j) {
      const double u = fraction + reach - 1.0 - static_cast<double>(j);
      const double argument = 2.0 * std::numbers::pi * cutoff * u;
      const double sinc = std::abs(u) < 1e-12 ? 1.0 : std::sin(argument) / argument;
      row[j] = sinc * kaiser(u / reach, beta);
      sum += row[j];
    }
    for (std::size_t j = 0; j < taps_; ++j)
      table_[phase * taps_ + j] = static_cast<float>(row[j] / sum);
  }
}

void WarpReader::read(std::span<const std::span<const float>> channels,
                      const Cubic& position,
                      std::span<const std::span<float>> out) const {
  EXPECTS(!channels.empty() && channels.size() <= 2 && out.size() == channels.size());
  const Table table{table_.data(), taps_, static_cast<double>(phases_)};
  const std::span<const float> left = channels[0];
  const std::span<const float> right = channels.back();
  const auto available = static_cast<std::int64_t>(left.size());
  const auto half = static_cast<std::int64_t>(taps_ / 2);
  constexpr std::size_t block = 256;
  double positions[block];
  float second[block];
  std::vector<float> edge;
  const std::size_t count = out[0].size();
  for (std::size_t from = 0; from < count; from += block) {
    const std::size_t width = std::min(block, count - from);
    bool inside = true;
    for (std::size_t k = 0; k < width; ++k) {
      const auto t = static_cast<double>(from + k);
      const double at =
          position.first + t * (position.rate + t * (position.bend + t * position.twist));
      positions[k] = at;
      inside = inside && at >= static_cast<double>(half) &&
               at < static_cast<double>(available - half - 1);
    }
    float* out_left = out[0].data() + from;
    float* out_right = out.size() > 1 ? out[1].data() + from : second;
    if (inside) {
      if (out.size() > 1)
        read_inside(table, left.data(), right.data(), positions, out_left, out_right, width);
      else
        read_one_inside(table, left.data(), positions, out_left, width);
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
