#pragma once
#include <complex>
#include <cstddef>
#include <memory>
#include <span>

#include "signal/aligned.hpp"

namespace goodside::signal {

/// Real discrete Fourier transform of one length, float.
///     forward:  X[k] = sum_j x[j] exp(-2 pi i jk/n),  k = 0 .. n/2
///     inverse:  x[j] = sum_k X[k] exp(+2 pi i jk/n) over the Hermitian spectrum; n times the signal
/// Source:   FFTW 3, single precision, by complex transforms of half the length (half_length.hpp); relative rms error about 1.5e-7.
/// Plans do not depend on timing, so one build gives the same bits on one class of CPU.
/// Making one takes a lock; `forward` and `inverse` may run on many threads at once.
/// Shapes:   signals n, spectra n/2 + 1; both begin on 32 bytes, as `Aligned` storage does: unaligned
///           plans take twice the time. The input of `inverse` is overwritten.
class RealFft {
 public:
  explicit RealFft(std::size_t length);
  ~RealFft();
  RealFft(const RealFft&) = delete;
  RealFft& operator=(const RealFft&) = delete;

  [[nodiscard]] std::size_t length() const { return length_; }
  [[nodiscard]] std::size_t bins() const { return length_ / 2 + 1; }

  void forward(std::span<const float> samples, std::span<std::complex<float>> spectrum) const;
  void inverse(std::span<std::complex<float>> spectrum, std::span<float> samples) const;

 private:
  struct Plans;
  std::size_t length_;
  std::unique_ptr<Plans> plans_;
};

/// The transform of a length, planned once in the life of the program and shared by all threads.
const RealFft& shared_fft(std::size_t length);

}  // namespace goodside::signal
