#pragma once
#include <cstdint>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "plan/sampling_design.hpp"

namespace goodside::plan {

/// One stretch of a run on one pair of stampers, by its impressions.
struct Stretch {
  std::int64_t first{}, last{};
};
/// A sample of a run, by its impressions (exact where they are equal).
struct Sample {
  std::int64_t first{}, last{};
  enum class State { waiting, good, flawed } state{State::waiting};
  bool contained{};  ///< flawed, and none of what it put in doubt can be shipped any more
};

/// What is known of a run.
struct RunEvidence {
  std::vector<Stretch> stretches{};  ///< by mounting, in order
  std::vector<Sample> samples{};
  std::int64_t shippable{};  ///< discs pressed, finished, good or packed: in the house, not suspect
  std::int64_t suspect{};
  std::int64_t shipped{};
};

enum class RunAct { ship, hold, hear_more, nothing };
struct RunVerdict {
  RunAct act{RunAct::nothing};
  std::int64_t lot{};  ///< discs that are judged: shippable, shipped and heard good
  std::int64_t heard{}, flawed{};
  std::int64_t at_least{};             ///< discs still to hear if all are good
  double expected{};                   ///< the same in the mean, of a good lot
  std::vector<std::int64_t> places{};  ///< impressions to pull next, at most twelve
  std::string why{};                   ///< a sentence
};

/// Ship, hold, or hear so many more. The lot is judged by sequential listening (design_sequential) over
/// the good samples and those flawed ones whose doubt is not contained; a flawed sample whose discs are
/// all held or scrapped says nothing of the others. Beyond the count, the end of every mounting must be
/// bracketed: what was pressed after the last good sample of a pair of stampers may carry damage from
/// its onset, so its last disc is heard too. Places to hear: those last discs, then the middles of
/// the longest stretches between heard discs.
/// Errors: those of design_sequential.
Result<RunVerdict> judge_run(const RunEvidence&, const Risks&);

}  // namespace goodside::plan
