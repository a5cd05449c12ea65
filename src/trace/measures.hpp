#pragma once
#include "works/heard_measures.hpp"
#include "works/listening_report.hpp"

namespace goodside::trace {

/// A report reduced to what it heard of the whole side. Level: the mean of both channels' gain
/// against the cut over third octaves from 250 Hz to 4 kHz. Non-fill: arcs that are not told to be
/// dirt, counted; their spread is even on the scale sqrt(n + 3/8) [Anscombe, Biometrika 35, 1948].
/// What the report does not know, or a side that was not this cut's, stays unknown. Who was heard
/// is for the caller to fill in.
[[nodiscard]] works::HeardMeasures measures_of(const works::ListeningReport&);

}  // namespace goodside::trace
