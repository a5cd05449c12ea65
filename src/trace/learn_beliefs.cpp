#include "trace/learn_beliefs.hpp"

#include <array>

namespace goodside::trace {
namespace {

constexpr double birth_counts = 30.0, end_counts = 36.0,
                 detection_counts = 4.0;
constexpr double recurring_counts = 2.0;  ///< of sides like this one
/// Pairs of strangers that learn from each other would talk themselves into being real.
constexpr double most_chance = 0.01;
constexpr std::size_t least_discs = 3;

}  // namespace

bool teaches(const Attribution& one) {
  return one.chance <= most_chance && one.on.size() >= least_discs;
}

Beliefs learn(const Beliefs& start,
              std::span<const Attribution> found,
              std::span<const char> plain) {
  std::array<double, level_count> share{}, birth{}, ceased{}, mended{}, mendable{};
  std::array<ByDetection, 2> seen{};
  std::array<double, 2> sum{};
  double all = 0.0;
  for (std::size_t i = 0; i < found.size(); ++i) {
    if (!teaches(found[i])) continue;
    const double real = 1.0 - found[i].chance;
    all += real;
    const std::size_t loud = plain[i] != 0 ? 1 : 0;
    sum[loud] += real;
    for (std::size_t p = 0; p < detection_count; ++p) seen[loud][p] += real * found[i].detection[p];
    for (const Weighed& cause : found[i].causes) {
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
  for (std::size_t p = 0; p < detection_count; ++p) {
    now.plain[p] = (start.plain[p] * detection_counts + seen[1][p]) / (detection_counts + sum[1]);
    now.slight[p] = (start.slight[p] * detection_counts + seen[0][p]) / (detection_counts + sum[0]);
  }
  now.share_counts = start.share_counts + all;
  now.recurring = (start.recurring * recurring_counts + all) / (recurring_counts + 1.0);
  return now;
}

}  // namespace goodside::trace
