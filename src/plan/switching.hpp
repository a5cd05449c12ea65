#pragma once
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "plan/sampling_tables.hpp"

namespace goodside::plan {

/// A lot as it was heard, in the order of production; none flawed where nothing is told.
struct HeardLot {
  std::string name;
  std::int64_t lot{}, flawed{};
  std::optional<std::int64_t> heard{};  ///< none: as many as the plan asked for
};

struct SwitchingRequest {
  double quality_limit{1.0};
  Level level{Level::two};
  bool two_stages{};
  Edition edition{Edition::published};
  bool steady{};  ///< production is steady and whoever answers for it agrees: reduced is allowed
};

struct JudgedLot {
  std::string name;
  Inspection inspection{Inspection::normal};
  TablePlan plan{};
  bool accepted{};
  int score{};             ///< switching score after it
  std::string switches{};  ///< what changes after it, and why; empty: nothing
};
struct SwitchingHistory {
  std::vector<JudgedLot> lots{};
  Inspection next{Inspection::normal};
  bool stopped{};  ///< five lots not accepted under tightened inspection
};

/// Lots one after another under the switching rules of ISO 2859-1, clause 9:
/// - normal to tightened: 2 of 5 or fewer lots in a row not accepted; back: 5 in a row accepted;
/// - tightened, 5 lots in all not accepted: hearing stops until the cause is mended;
/// - normal to reduced: switching score of 30 or more, production steady; back: a lot not accepted,
///   or (plans with a gap between the numbers) between them.
/// The score (from memory): with an acceptance number of 2 or more 3 for a lot that would have been
/// accepted with the limit one step tighter; with 0 or 1, 2 for one that is accepted; else back to 0.
/// Double plans: 3 where the first sample accepts, else back to 0.
/// Errors: those of table_plan; Fault::bad_input for counts that cannot be, naming the lot.
Result<SwitchingHistory> judge_lots(std::span<const HeardLot>, const SwitchingRequest&);

}  // namespace goodside::plan
