#pragma once
#include <array>
#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace goodside::listen {

using Complex = std::complex<float>;

/// How the player renders the cut, bin by bin of a real transform:
///     capture[i] = transfer[2 i] programme[0] + transfer[2 i + 1] programme[1],   i = 0 left, 1
///     right.
/// Of a mono programme only [0] and [2] are used.
using Transfer = std::array<std::vector<Complex>, 4>;

/// Sums of products of spectra over frames, and the least-squares transfer they give:
///     H(f) = S_cx(f) S_xx(f)^-1,  both sums smoothed over neighbouring bins first.
/// Relative ridges of 1e-9 of the strongest bin and 1e-4 of the bin itself keep near-mono programme
/// solvable; the second costs 0.001 dB of level on ordinary stereo.
class TransferFit {
 public:
  TransferFit(std::size_t bins, bool mono);

  void clear();
  /// One frame: programme spectra, captured spectra (`bins` each; `right` unread when mono).
  void add(float weight,
           std::span<const Complex> left,
           std::span<const Complex> right,
           std::span<const Complex> heard_left,
           std::span<const Complex> heard_right);
  void add(const TransferFit& other, float weight);

  /// `reach` bins on each side share in a bin's sums, in triangular weights.
  [[nodiscard]] Transfer solve(std::size_t reach) const;
  /// Programme power of each bin, both channels.
  [[nodiscard]] std::vector<float> power() const;

 private:
  std::size_t bins_;
  bool mono_;
  std::array<std::vector<float>, 2> self_;
  std::vector<Complex> between_;
  std::array<std::vector<Complex>, 4> cross_;
};

/// out = the transfer's row for `channel` applied to the programme's spectra.
void predict(const Transfer& transfer,
             std::size_t channel,
             bool mono,
             std::span<const Complex> left,
             std::span<const Complex> right,
             std::span<Complex> out);

}  // namespace goodside::listen
