#pragma once
#include <string>

#include "works/bench_check.hpp"
#include "works/learned_limits.hpp"

namespace goodside::json {

/// The contract goodside.check-disc/1 as text: the bench's charts, what moved, what to look at. Six
/// digits a figure.
std::string write(const works::BenchCheck&);

/// The contract goodside.limits/1 as text: the learned limits with their evidence, agreement and
/// misses. The limits themselves are used from their TOML file.
std::string write(const works::LearnedLimits&);

}  // namespace goodside::json
