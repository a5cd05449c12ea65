#pragma once
#include <vector>

#include "trace/recurring.hpp"
#include "trace/touched.hpp"
#include "works/trace_report.hpp"

namespace goodside::trace {

/// What one look tells, in bits, of a thing that shows with probability `detection` where it is:
///   I = h(m q) - m h(q),  m = P(it is there), q = detection, h the binary entropy
/// which is the mutual information of the look with everything that decides whether it is there
/// (cause, onset, end), since the look depends on those through presence alone.
[[nodiscard]] double gain_bits(double presence, double detection);

/// The best act of each kind for one recurring fault, best gain a minute first.
///   hear, spot-hear: a disc that can be fetched and whose place was not heard, or one of a carton
///   or spindle; microscope: the likeliest stamper; play the mother, look at the father: whether
///   they have it. A metal's look shows with 0.9, grit behind a stamper with 0.2.
[[nodiscard]] std::vector<works::NextAct> next_acts(const works::Family& family,
                                                    std::span<const works::HeardPlay> plays,
                                                    const FamilyIndex& index,
                                                    const Recurring& recurring,
                                                    const Touched& touched,
                                                    const works::RecurringFault& fault);

/// Over all open faults together: the acts of each, and hearing a whole side for all that it tells.
[[nodiscard]] std::vector<works::NextAct> next_of_all(
    const std::vector<works::RecurringFault>& faults, const works::TraceCosts& costs);

/// Hearings until the onset is known within +-1 % of the impressions, expected: what is unknown of
/// it, in bits, over what the best hearing tells at this detection.
[[nodiscard]] double hearings_needed(const Touched& touched, double detection, double scale);

}  // namespace goodside::trace
