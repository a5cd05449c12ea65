#pragma once
#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace goodside::listen {

/// A frequency band; `centre_Hz` is the nominal name where the band has one.
struct Band {
  double centre_Hz{}, low_Hz{}, high_Hz{};
};

/// The third-octave bands from nominal 20 Hz to 20 kHz, 31 of them.
///     f_n = 1000 G^(n/3),   edges f_n G^(-1/6), f_n G^(+1/6),   G = 10^0.3,   n = -17 .. 13
/// Source:   IEC 61260-1:2014, base-ten system (formulas from memory); nominal names of ISO 266.
std::vector<Band> third_octaves();

/// Power of a spectrum in bands. Bin k stands for the frequencies (k - 1/2 .. k + 1/2) bin_Hz; a
/// bin that a band's edge divides is shared in proportion, so bands that touch share out the power
/// without loss. Cost O(bins covered), float; relative error below 1e-5.
class BandPowers {
 public:
  BandPowers() = default;
  /// `bins` counts from 0 Hz. A band beyond the last bin has zero width.
  BandPowers(std::span<const Band> bands, double bin_Hz, std::size_t bins);

  [[nodiscard]] std::size_t size() const { return shares_.size(); }
  /// Width of band b that the bins cover, in bins.
  [[nodiscard]] double width_bins(std::size_t b) const { return shares_[b].width; }
  /// Sum of |X_k|^2 over band b.
  [[nodiscard]] float power(std::size_t b, std::span<const std::complex<float>> spectrum) const;

 private:
  struct Share {
    std::size_t first{}, last{};  // the two bins that the edges divide
    float first_share{}, last_share{};
    double width{};
  };
  std::vector<Share> shares_;
};

/// Factor from a sum of |X_k|^2 over bins, taken with a window over n = 2 (bins - 1) samples, to
/// the mean square of the samples (Parseval):   2/(n sum w^2).   Valid for bands clear of 0 Hz and
/// the Nyquist bin.
double mean_square_factor(std::size_t bins, double window_power);

}  // namespace goodside::listen
