#pragma once
#include <complex>
#include <cstdint>
#include <vector>

#include "listen/features.hpp"
#include "signal/aligned.hpp"

namespace goodside::listen {

/// A place where a stretch of the capture resembles the reference; in frames, reference = capture +
/// offset.
struct FeaturePeak {
  double capture_frame{}, offset{}, score{};
};

/// Top of the parabola through three equidistant values, as a share of their spacing, within half
/// of it.
double parabola_top(double before, double at, double after);

/// Normalised correlation of stretches of a capture with a reference, at one place or at all of
/// them. Both Features outlive it.
class FeatureMatcher {
 public:
  using Index = std::int64_t;

  FeatureMatcher(const Features& capture, const Features& reference);

  [[nodiscard]] Index capture_frames() const;
  [[nodiscard]] Index reference_frames() const;
  /// Sum of the squared features of `length` frames from `from`.
  [[nodiscard]] double capture_energy(Index from, Index length) const;
  /// Correlation in [-1, 1]; 0 where less than 60 % of the stretch meets the reference.
  [[nodiscard]] double score(Index from, Index length, Index offset) const;
  /// The best peaks over the whole reference, strongest first, at least 0.3 s apart. O(n log n).
  [[nodiscard]] std::vector<FeaturePeak> search(Index from, Index length, std::size_t most);

 private:
  [[nodiscard]] double normalised(double product, Index from, Index length, Index offset) const;
  void prepare(Index length);

  const Features& capture_;
  const Features& reference_;
  std::vector<double> capture_energy_, reference_energy_;  // running sums
  std::size_t size_{};
  signal::Aligned<float> samples_;
  signal::Aligned<std::complex<float>> spectrum_, product_;
  std::vector<signal::Aligned<std::complex<float>>> reference_spectra_;
};

}  // namespace goodside::listen
