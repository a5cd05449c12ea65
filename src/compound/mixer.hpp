#pragma once
#include <vector>

#include "base/result.hpp"
#include "works/mix_report.hpp"

namespace goodside::compound {

/// Regrind at one share r of every batch, drawn from the mix's own flash and scrap: settled,
///     share through n times = (1 - r) r^n,   more often than n: r^(n + 1),   mean r/(1 - r);
/// after k batches the same with all older material at n = k. 0 <= share < 1 (EXPECTS).
/// Source: a geometric series; drawn well mixed.
[[nodiscard]] works::RegrindHistory regrind_history(double share);

/// The same in the batch number `batches`, from 0 of fresh material alone: [n], n to `batches`.
[[nodiscard]] std::vector<double> regrind_after(double share, int batches);

/// The share whose part through more than `times` is `most`: r = most^(1/(times + 1)).
[[nodiscard]] double regrind_share_for(double most, int times);

/// Heat to bring a batch to the dump temperature, and the drive's time for it:
///     Q = M sum w_i c_i (T - T_0) + water (c_w (373 K - T_0) + 2.257 MJ/kg),  t = Q/(efficiency P);
/// the water boils off where T passes 100 °C.
/// Accuracy: heat capacities by role are from memory, +-20 %, unless told; no loss to the jacket but
///           what `efficiency` takes out. Dump on temperature or energy, not on time alone.
/// Errors: Fault::out_of_range for a dump temperature that is not above the start, or above the
/// recipe's highest.
Result<works::MixerHeat> mixer_heat(const works::Recipe& recipe, const works::WeighUp& sheet);

/// From one colour to the next: the bowl keeps `holdup_kg`, and `left` of the old colour may stay.
/// Batches n with (h/(h + m))^n <= left; run through without a stop, an ideally mixed holdup washes
/// out as exp(-m/h) [Levenspiel1999].
/// Errors: Fault::out_of_range unless 0 < left < 1 and the masses are positive.
Result<works::Purge> purge(double holdup_kg, double batch_kg, double left);

}  // namespace goodside::compound
