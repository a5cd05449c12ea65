#include "signal/half_band.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "base/expects.hpp"
#include "signal/fir.hpp"
#include "signal/window.hpp"

namespace goodside::signal {
namespace {

constexpr std::size_t reach = 16;  // taps on either side of a sample between two

/// What a sample half way between two is made of; of unit gain at 0. The samples themselves have a tap of one alone.
const std::vector<float>& between() {
  static const std::vector<float> taps = [] {
    constexpr double beta = 7.0;
    std::vector<double> sinc(2 * reach);
    double sum = 0.0;
    for (std::size_t j = 0; j < sinc.size(); ++j) {
      const double offset = static_cast<double>(j) - static_cast<double>(reach) + 0.5;
      const double phase = std::numbers::pi * offset;
      sinc[j] = std::sin(phase) / phase * kaiser(offset / static_cast<double>(reach), beta);
      sum += sinc[j];
    }
    std::vector<float> scaled(sinc.size());
    for (std::size_t j = 0; j < sinc.size(); ++j) scaled[j] = static_cast<float>(sinc[j] / sum);
    return scaled;
  }();
  return taps;
}

/// A stretch at a time, so that what is moved about stays in the nearest cache.
constexpr std::size_t stretch = 2048;

/// Copies `count` samples of `in` from `first` on, zeros where there are none.
void copy_padded(std::span<const float> in, std::ptrdiff_t first, std::size_t count, float* out) {
  const auto wanted = static_cast<std::ptrdiff_t>(count);
  const std::ptrdiff_t from = std::clamp<std::ptrdiff_t>(-first, 0, wanted);
  const std::ptrdiff_t to = std::clamp<std::ptrdiff_t>(std::ssize(in) - first, from, wanted);
  std::fill(out, out + from, 0.0F);
  std::copy(in.begin() + first + from, in.begin() + first + to, out + from);
  std::fill(out + to, out + wanted, 0.0F);
}

}  // namespace

void double_rate(std::span<const float> in, Aligned<float>& out) {
  out.resize(2 * in.size());
  std::vector<float> near(stretch + 2 * reach - 1);
  std::vector<float> half(stretch);
  for (std::size_t from = 0; from < in.size(); from += stretch) {
    const std::size_t width = std::min(stretch, in.size() - from);
    const auto first = static_cast<std::ptrdiff_t>(from) - static_cast<std::ptrdiff_t>(reach) + 1;
    copy_padded(in, first, width + 2 * reach - 1, near.data());
    slide_filter(near, 0, 1, between(), std::span{half}.first(width));
    for (std::size_t k = 0; k < width; ++k) {
      out[2 * (from + k)] = in[from + k];
      out[2 * (from + k) + 1] = half[k];
    }
  }
}

void halve_rate(std::span<const float> in, std::span<float> out) {
  EXPECTS(in.size() == 2 * out.size());
  std::vector<float> near(2 * (stretch + 2 * reach - 1));
  std::vector<float> even(stretch + 2 * reach - 1);
  std::vector<float> odd(stretch + 2 * reach - 1);
  std::vector<float> half(stretch);
  for (std::size_t from = 0; from < out.size(); from += stretch) {
    const std::size_t width = std::min(stretch, out.size() - from);
    const std::size_t pairs = width + 2 * reach - 1;
    // Pair k holds sample 2 k and the one between it and the next: those on either side of the first come before it.
    const auto first = 2 * (static_cast<std::ptrdiff_t>(from) - static_cast<std::ptrdiff_t>(reach));
    copy_padded(in, first, 2 * pairs, near.data());
    split_pairs(std::span{near}.first(2 * pairs),
                std::span{even}.first(pairs),
                std::span{odd}.first(pairs));
    slide_filter(odd, 0, 1, between(), std::span{half}.first(width));
    for (std::size_t k = 0; k < width; ++k) out[from + k] = 0.5F * (even[k + reach] + half[k]);
  }
}

}  // namespace goodside::signal
