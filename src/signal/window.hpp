#pragma once
#include <cstddef>
#include <vector>

namespace goodside::signal {

/// Periodic Hann window, w[j] = (1 - cos(2 pi j/n))/2: at a hop of n/2 the windows add up to one.
std::vector<float> hann(std::size_t length);

/// Kaiser window value at x in [-1, 1]: I0(beta sqrt(1 - x^2))/I0(beta), zero outside.
/// Source: Kaiser 1974; I0 by its power series, relative error < 1e-15 for beta <= 20.
double kaiser(double x, double beta);

}  // namespace goodside::signal
