#include "trace/learn_beliefs.hpp"

#include <array>

namespace goodside::trace {
namespace {

constexpr double birth_counts = 30.0, end_counts = 36.0;
constexpr double recurring_counts = 2.0;  ///< of sides like this one
/// Pairs of strangers that learn from each other would talk themselves into being real.
constexpr double most_chance = 0.01;
constexpr std::size_t least_discs = 3;

}  // namespace

bool teaches(const Attribution& one) {
  return one.chance <= most_chance && one.on.size() >= least_discs;
}

Beliefs learn(const Beliefs& start, std::span<const Attribution> found) {
  std::array<double, level_count> share{}, birth{}, ceased{}, mended{}, mendable{};
  ByLaw hearing{};
  double all = 0.0;
  for (const Attribution& one : found) {
    if (!teaches(one)) continue;
    const double real = 1.0 - one.chance;
    all += real;
    for (std::size_t law = 0; law < law_count; ++law) hearing[law] += one.log_hearing[law];
    for (const Weighed& cause : one.causes) {
      const auto level = static_cast<std::size_t>(cause.level);
      share[level] += real * cause.posterior;
      birth[level] += real * cause.posterior * cause.since_birth;
      ceased[level] += real * cause.posterior * (cause.ends - cause.mended);
      mended[level] += real * cause.posterior * cause.mended;
      if (cause.may_be_mended) mendable[level] += real * cause.posterior;
    }
  }
  Beliefs now = start;
  for (std::size_t level = 0; level < level_count; ++level) {
    now.share[level] =
        (start.share[level] * start.share_counts + share[level]) / (start.share_counts + all);
    now.birth[level] =
        (start.birth[level] * birth_counts + birth[level]) / (birth_counts + share[level]);
    now.ceases[level] =
        (start.ceases[level] * end_counts + ceased[level]) / (end_counts + share[level]);
    now.mended[level] =
        (start.mended[level] * end_counts + mended[level]) / (end_counts + mendable[level]);
  }
  for (std::size_t law = 0; law < law_count; ++law)
    now.log_hearing[law] = start.log_hearing[law] + hearing[law];
  now.share_counts = start.share_counts + all;
  now.recurring = (start.recurring * recurring_counts + all) / (recurring_counts + 1.0);
  return now;
}

}  // namespace goodside::trace
