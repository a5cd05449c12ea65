#include "trace/grower_prior.hpp"

#include <cstddef>
#include <utility>

namespace goodside::trace {

GrowerPrior prior_of(const Grower& part, const Beliefs& beliefs) {
  const std::size_t children = part.children.size();
  const auto level = static_cast<std::size_t>(part.level);
  GrowerPrior prior{.onset = std::vector<double>(children, 0.0), .ends = {}};
  auto& [alone, at_steps] = prior.ends;
  alone.mass = at_steps.mass = std::vector<double>(children + 1, 0.0);
  alone.share = beliefs.ceases[level];
  at_steps = {1.0 - alone.share, 1.0, true, std::move(at_steps.mass)};
  if (children < 2 || part.level == Level::cut) {
    if (children > 0) prior.onset[0] = 1.0;
    return prior;
  }
  const double birth = beliefs.birth[level];
  const double at_step = part.steps.empty() ? 0.0 : beliefs.at_step * (1.0 - birth);
  const auto gaps = static_cast<double>(children - 1);
  prior.onset[0] = birth;
  for (std::size_t c = 1; c < children; ++c) {
    prior.onset[c] = (1.0 - birth - at_step) / gaps;
    alone.mass[c] = 1.0 / gaps;
  }
  for (const std::int64_t step : part.steps) {
    const auto c = static_cast<std::size_t>(step);
    prior.onset[c] += at_step / static_cast<double>(part.steps.size());
    const double here = at_steps.never * beliefs.mended[level];
    at_steps.mass[c] += here;
    at_steps.never -= here;
  }
  return prior;
}

}  // namespace goodside::trace
