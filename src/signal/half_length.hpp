#pragma once
#include <complex>
#include <cstddef>
#include <span>

#include "signal/aligned.hpp"

namespace goodside::signal {

/// A real transform of length n by a complex one of n/2, whose samples are pairs of real ones (z[j] = x[2j] + i x[2j+1]):
///     X[k] = (Z[k] + conj Z[n/2-k])/2 - i/2 exp(-2 pi i k/n) (Z[k] - conj Z[n/2-k])
/// and back. Source: [CooleyLewisWelch1970].
/// The library's complex plans run in wider registers than its real ones do: together a third is saved.

/// -i/2 exp(-2 pi i k/n), k = 0 .. n/4.
Aligned<std::complex<float>> half_turns(std::size_t length);

/// Z[0 .. n/2) becomes X[0 .. n/2], in place; `spectrum` has n/2 + 1 places.
void untangle(std::span<std::complex<float>> spectrum, std::span<const std::complex<float>> turns);
/// X[0 .. n/2] becomes what the complex inverse transform makes n x[j] of.
void tangle(std::span<std::complex<float>> spectrum, std::span<const std::complex<float>> turns);

}  // namespace goodside::signal
