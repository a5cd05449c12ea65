#pragma once
#include <string>

#include "works/truth.hpp"

namespace goodside::json {

/// What a simulated capture really holds, as "goodside.truth/1": geometry, start and end, speed,
/// hole offset, stretches, faults in order of time, and the programme time under the stylus every
/// `track_hop_s`. Equal truths give equal bytes.
std::string write(const works::Truth&);

}  // namespace goodside::json
