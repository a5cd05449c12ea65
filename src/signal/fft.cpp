#include "signal/fft.hpp"

#include <fftw3.h>

#include <cstdint>
#include <map>
#include <mutex>

#include "base/expects.hpp"
#include "signal/fft_wisdom.hpp"
#include "signal/half_length.hpp"

namespace goodside::signal {
namespace {

std::mutex& planner() {
  static std::mutex lock;  // only fftwf_execute_* may run beside each other
  return lock;
}

/// The plans' vector code loads whole registers: what is not aligned as storage was when planning would fault.
bool aligned(const float* samples, const std::complex<float>* spectrum) {
  const auto address = [](const void* at) { return reinterpret_cast<std::uintptr_t>(at); };
  return address(samples) % 32 == 0 && address(spectrum) % 32 == 0;
}

fftwf_complex* as_fftw(std::complex<float>* spectrum) {
  return reinterpret_cast<fftwf_complex*>(spectrum);  // the two layouts are the same by standard
}

/// Every two samples as one complex number.
fftwf_complex* as_pairs(float* samples) {
  return reinterpret_cast<fftwf_complex*>(samples);
}

}  // namespace

struct RealFft::Plans {
  fftwf_plan forward{}, inverse{};  // complex, of half the length
  Aligned<std::complex<float>> turns;
};

RealFft::RealFft(std::size_t length) : length_{length}, plans_{std::make_unique<Plans>()} {
  EXPECTS(length >= 2 && length % 2 == 0);
  Aligned<float> samples(length_);
  Aligned<std::complex<float>> spectrum(bins());
  const std::lock_guard guard{planner()};
  // Refused by another build or CPU: plans are then estimated. Either way the same here, every time.
  static const bool taught = fftwf_import_wisdom_from_string(fft_wisdom) == 1;
  static_cast<void>(taught);
  const int half = static_cast<int>(length_ / 2);
  plans_->forward = fftwf_plan_dft_1d(half,
                                      as_pairs(samples.data()),
                                      as_fftw(spectrum.data()),
                                      FFTW_FORWARD,
                                      FFTW_ESTIMATE | FFTW_PRESERVE_INPUT);
  plans_->inverse = fftwf_plan_dft_1d(
      half, as_fftw(spectrum.data()), as_pairs(samples.data()), FFTW_BACKWARD, FFTW_ESTIMATE);
  plans_->turns = half_turns(length_);
  EXPECTS(plans_->forward != nullptr && plans_->inverse != nullptr);
}

RealFft::~RealFft() {
  const std::lock_guard guard{planner()};
  fftwf_destroy_plan(plans_->forward);
  fftwf_destroy_plan(plans_->inverse);
}

void RealFft::forward(std::span<const float> samples,
                      std::span<std::complex<float>> spectrum) const {
  EXPECTS(samples.size() == length_ && spectrum.size() == bins());
  EXPECTS(aligned(samples.data(), spectrum.data()));
  // FFTW takes a non-const pointer; with FFTW_PRESERVE_INPUT it does not write there.
  fftwf_execute_dft(
      plans_->forward, as_pairs(const_cast<float*>(samples.data())), as_fftw(spectrum.data()));
  untangle(spectrum, plans_->turns);
}

void RealFft::inverse(std::span<std::complex<float>> spectrum, std::span<float> samples) const {
  EXPECTS(samples.size() == length_ && spectrum.size() == bins());
  EXPECTS(aligned(samples.data(), spectrum.data()));
  tangle(spectrum, plans_->turns);
  fftwf_execute_dft(plans_->inverse, as_fftw(spectrum.data()), as_pairs(samples.data()));
}

const RealFft& shared_fft(std::size_t length) {
  static std::mutex lock;
  static std::map<std::size_t, std::unique_ptr<RealFft>> made;
  const std::lock_guard guard{lock};
  auto& fft = made[length];
  if (!fft) fft = std::make_unique<RealFft>(length);
  return *fft;
}

}  // namespace goodside::signal
