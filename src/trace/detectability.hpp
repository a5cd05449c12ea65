#pragma once
#include <array>
#include <cstddef>

#include "trace/beliefs.hpp"

namespace goodside::trace {

/// A law of hearing: how surely one play of an affected disc shows a fault that stands `above_dB`
/// over what the reports still list,
///   logit p ~ N(at_5_dB + per_10_dB (above_dB - 5) / 10, scatter^2).
/// A slope of nought says that strength tells nothing, a steep one that hearing is all or nothing.
struct HearingLaw {
  double at_5_dB, per_10_dB, scatter;
};
/// Of law `law`: five heights x five slopes x two scatters (judgement, no source), each as likely
/// before a title has taught better.
[[nodiscard]] HearingLaw hearing_law(std::size_t law);

/// Prior over the detection probabilities, the laws weighed by exp(log_weight).
[[nodiscard]] ByDetection detection_prior(const ByLaw& log_weight, double above_dB);

/// Log-likelihood of each law, given that of the detection probabilities.
[[nodiscard]] ByLaw likelihood_of_laws(const ByDetection& log_likelihood, double above_dB);

}  // namespace goodside::trace
