#pragma once

namespace goodside::stats {

/// P(X >= count) for X ~ Poisson(mean): the chance that `count` or more events fall where `mean`
/// are expected. Sums the smaller side of the distribution, so that tails down to 1e-300 keep their
/// relative accuracy. mean >= 0; count <= 0 gives 1.
[[nodiscard]] double poisson_tail(int count, double mean);

}  // namespace goodside::stats
