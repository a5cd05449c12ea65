#pragma once
#include <span>
#include <vector>

namespace goodside::maths {

/// Penalised smoothing of evenly spaced values:
///     minimise  sum_k w_k (y_k - s_k)^2 + penalty sum_k (s_{k-1} - 2 s_k + s_{k+1})^2.
/// Source:   Whittaker 1922; Eilers 2003. Solved by a banded LDL^T factorisation, O(n).
/// Shapes:   y and w of one length n >= 3; w >= 0 with at least two positive; penalty > 0.
/// Where w is 0 the curve bridges the gap, straight in the limit.
std::vector<double> whittaker(std::span<const double> values,
                              std::span<const double> weights,
                              double penalty);

/// The penalty of `candidates` that best foretells blocks of `block` values left out in turn: the
/// two halves of a checkerboard are each left out once, and the weighted squared error of what was
/// left out, cut off at nine times its median, is summed.
double foretelling_penalty(std::span<const double> values,
                           std::span<const double> weights,
                           std::span<const double> candidates,
                           std::size_t block);

}  // namespace goodside::maths
