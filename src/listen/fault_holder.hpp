#pragma once
#include <cstddef>

#include "listen/match.hpp"

namespace goodside::listen {

/// A stretch of samples, [from, to).
struct SampleSpan {
  std::size_t from{}, to{};
};

enum class Holder { first, second, both };

/// Which of two recordings of one programme, laid over each other, holds an event that stands out of their
/// difference. A prediction filter of order 32 for each, from the 25 ms on each side of the event, takes programme
/// and tone away and leaves what comes unforeseen: e of `a`, f of `b`, in units of what is usual beside the event,
/// over the event and 0.4 ms about it.
///     both     f stands out on its own (mean square over 2.5) and goes with e (correlation over 0.5): a fault of
///              what both were pressed from, differently rendered
///     loss     where the difference is a share of the one recording and that one holds nothing unforeseen,
///              programme is missing in the other, which holds the fault
///     else     the one with more energy: sum e^2 against sum f^2
/// Where more than half of the event's energy is bass, all is thinned to 8 kHz first.
/// `a`, `b` of one size. Pure. Accuracy: docs/listening_peers.md, as measured.
[[nodiscard]] Holder fault_holder(
    const StereoSamples& a, const StereoSamples& b, SampleSpan event, bool bass, double rate_Hz);

}  // namespace goodside::listen
