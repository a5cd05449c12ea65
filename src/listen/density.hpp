#pragma once
#include <utility>
#include <vector>

namespace goodside::listen {

/// A noise density known at some frequencies: straight in its logarithm over the logarithm of
/// frequency between them, flat beyond the outer ones.
class DensityCurve {
 public:
  /// In order of frequency; both > 0.
  void add(double frequency_Hz, double density);
  /// At least one point must be known.
  [[nodiscard]] double at(double frequency_Hz) const;

 private:
  std::vector<std::pair<double, double>> points_;  // logarithms of frequency and density
};

/// Level of a mean square re a full-scale sine of the reference (mean square 1/2) that went through
/// the capture's gain.
double re_full_scale_dB(double mean_square, double gain_dB);

}  // namespace goodside::listen
