#include "listen/transfer.hpp"

#include <algorithm>
#include <limits>

#include "signal/clones.hpp"

namespace goodside::listen {
namespace {

GOODSIDE_CLONES void add_power(float weight, const Complex* x, float* sum, std::size_t count) {
  for (std::size_t k = 0; k < count; ++k)
    sum[k] += weight * (x[k].real() * x[k].real() + x[k].imag() * x[k].imag());
}

/// sum += weight a conj(b)
GOODSIDE_CLONES void add_cross(
    float weight, const Complex* a, const Complex* b, Complex* sum, std::size_t count) {
  for (std::size_t k = 0; k < count; ++k) {
    const float real = a[k].real() * b[k].real() + a[k].imag() * b[k].imag();
    const float imag = a[k].imag() * b[k].real() - a[k].real() * b[k].imag();
    sum[k] += Complex{weight * real, weight * imag};
  }
}

GOODSIDE_CLONES void multiply(const Complex* a, const Complex* x, Complex* out, std::size_t count) {
  for (std::size_t k = 0; k < count; ++k) out[k] = a[k] * x[k];
}

GOODSIDE_CLONES void multiply_two(const Complex* a,
                                  const Complex* x,
                                  const Complex* b,
                                  const Complex* y,
                                  Complex* out,
                                  std::size_t count) {
  for (std::size_t k = 0; k < count; ++k) out[k] = a[k] * x[k] + b[k] * y[k];
}

/// Triangular means over 2 reach + 1 values, from `reach` on.
template <class Value>
[[gnu::always_inline]] inline void smooth(const Value* sums,
                                          std::size_t reach,
                                          std::size_t end,
                                          Value* out) {
  const auto width = static_cast<float>(static_cast<int>(reach) + 1);
  const float scale = 1.0F / (width * width);
  for (std::size_t k = reach; k < end; ++k) {
    Value sum = sums[k] * width;
    for (std::size_t j = 1; j <= reach; ++j)
      sum += (sums[k - j] + sums[k + j]) * (width - static_cast<float>(static_cast<int>(j)));
    out[k] = sum * scale;
  }
}

GOODSIDE_CLONES void smooth_inside(const float* sums,
                                   std::size_t reach,
                                   std::size_t end,
                                   float* out) {
  reach == 2 ? smooth(sums, 2, end, out) : smooth(sums, reach, end, out);
}

GOODSIDE_CLONES void smooth_inside(const Complex* sums,
                                   std::size_t reach,
                                   std::size_t end,
                                   Complex* out) {
  reach == 2 ? smooth(sums, 2, end, out) : smooth(sums, reach, end, out);
}

template <class Value>
std::vector<Value> smoothed(const std::vector<Value>& sums, std::size_t reach) {
  if (reach == 0) return sums;
  const auto n = static_cast<std::ptrdiff_t>(sums.size());
  const auto width = static_cast<std::ptrdiff_t>(reach);
  std::vector<Value> out(sums.size());
  const float scale = 1.0F / static_cast<float>((width + 1) * (width + 1));
  for (std::ptrdiff_t k = 0; k < n; ++k) {
    if (k == width && n > 2 * width) {
      smooth_inside(sums.data(), reach, sums.size() - reach, out.data());
      k = n - width;
    }
    Value sum{};
    for (std::ptrdiff_t j = -width; j <= width; ++j) {
      std::ptrdiff_t at = k + j;
      if (at < 0) at = -at;
      if (at >= n) at = 2 * (n - 1) - at;
      sum += sums[static_cast<std::size_t>(at)] * static_cast<float>(width + 1 - std::abs(j));
    }
    out[static_cast<std::size_t>(k)] = sum * scale;
  }
  return out;
}

}  // namespace

TransferFit::TransferFit(std::size_t bins, bool mono) : bins_{bins}, mono_{mono} {
  clear();
}

void TransferFit::clear() {
  const std::size_t second = mono_ ? 0 : bins_;
  self_[0].assign(bins_, 0.0F);
  self_[1].assign(second, 0.0F);
  between_.assign(second, {});
  for (std::size_t i = 0; i < 4; ++i) cross_[i].assign(i % 2 == 0 ? bins_ : second, {});
}

void TransferFit::add(float weight,
                      std::span<const Complex> left,
                      std::span<const Complex> right,
                      std::span<const Complex> heard_left,
                      std::span<const Complex> heard_right) {
  add_power(weight, left.data(), self_[0].data(), bins_);
  add_cross(weight, heard_left.data(), left.data(), cross_[0].data(), bins_);
  add_cross(weight, heard_right.data(), left.data(), cross_[2].data(), bins_);
  if (mono_) return;
  add_power(weight, right.data(), self_[1].data(), bins_);
  add_cross(weight, left.data(), right.data(), between_.data(), bins_);
  add_cross(weight, heard_left.data(), right.data(), cross_[1].data(), bins_);
  add_cross(weight, heard_right.data(), right.data(), cross_[3].data(), bins_);
}

void TransferFit::add(const TransferFit& other, float weight) {
  const auto add_all = [weight](auto& sums, const auto& more) {
    for (std::size_t k = 0; k < sums.size(); ++k) sums[k] += more[k] * weight;
  };
  for (std::size_t i = 0; i < 2; ++i) add_all(self_[i], other.self_[i]);
  add_all(between_, other.between_);
  for (std::size_t i = 0; i < 4; ++i) add_all(cross_[i], other.cross_[i]);
}

Transfer TransferFit::solve(std::size_t reach) const {
  constexpr float least = std::numeric_limits<float>::min();
  Transfer transfer;
  for (auto& one : transfer) one.assign(bins_, {});
  float most = 0.0F;
  for (std::size_t k = 0; k < bins_; ++k)
    most = std::max(most, self_[0][k] + (mono_ ? 0.0F : self_[1][k]));
  const float ridge = 1e-9F * most + least;
  const auto a = smoothed(self_[0], reach);
  const auto left0 = smoothed(cross_[0], reach);
  const auto right0 = smoothed(cross_[2], reach);
  if (mono_) {
    for (std::size_t k = 1; k + 1 < bins_; ++k) {
      const float scale = 1.0F / (a[k] + ridge);
      transfer[0][k] = left0[k] * scale;
      transfer[2][k] = right0[k] * scale;
    }
    return transfer;
  }
  const auto b = smoothed(self_[1], reach);
  const auto c = smoothed(between_, reach);
  const auto left1 = smoothed(cross_[1], reach);
  const auto right1 = smoothed(cross_[3], reach);
  for (std::size_t k = 1; k + 1 < bins_; ++k) {
    const float lift = ridge + 1e-4F * (a[k] + b[k]);
    // Scaled so that the determinant of tiny powers does not fall under the float's range.
    const float scale = 1.0F / (a[k] + b[k] + 2.0F * lift);
    const float p = (a[k] + lift) * scale;
    const float q = (b[k] + lift) * scale;
    const Complex r = c[k] * scale;
    const float inverse = scale / std::max(p * q - std::norm(r), 1e-9F);
    // [H0 H1] = [u v] [p r; conj(r) q]^-1
    transfer[0][k] = (left0[k] * q - left1[k] * std::conj(r)) * inverse;
    transfer[1][k] = (left1[k] * p - left0[k] * r) * inverse;
    transfer[2][k] = (right0[k] * q - right1[k] * std::conj(r)) * inverse;
    transfer[3][k] = (right1[k] * p - right0[k] * r) * inverse;
  }
  return transfer;
}

std::vector<float> TransferFit::power() const {
  std::vector<float> sum = self_[0];
  for (std::size_t k = 0; k < self_[1].size(); ++k) sum[k] += self_[1][k];
  return sum;
}

void predict(const Transfer& transfer,
             std::size_t channel,
             bool mono,
             std::span<const Complex> left,
             std::span<const Complex> right,
             std::span<Complex> out) {
  const Complex* a = transfer[2 * channel].data();
  if (mono)
    multiply(a, left.data(), out.data(), out.size());
  else
    multiply_two(
        a, left.data(), transfer[2 * channel + 1].data(), right.data(), out.data(), out.size());
}

}  // namespace goodside::listen
