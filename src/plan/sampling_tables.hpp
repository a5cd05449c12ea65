#pragma once
#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "plan/sampling_walk.hpp"

namespace goodside::plan {

// Sampling tables indexed by the acceptance quality limit (AQL). Source: ISO 2859-1 and its forerunner
// MIL-STD-105E, which agree in the single plans of normal and tightened inspection. The double plans
// and the reduced plans of the edition of 1999 are from memory; tests recompute that a double plan's
// curve lies on its single plan's.

enum class Level { s1, s2, s3, s4, one, two, three };
enum class Inspection { normal, tightened, reduced };
enum class Edition { published, edition_1999 };  ///< of reduced inspection alone

/// "S-1" … "S-4", "I", "II", "III". Errors: Fault::bad_input, naming them.
Result<Level> read_level(std::string_view typed);
[[nodiscard]] std::string_view word(Level);
[[nodiscard]] std::string_view word(Inspection);

/// The 26 limits, in flawed discs a hundred; above 10 they count faults, not discs.
[[nodiscard]] std::span<const double, 26> quality_limits();

struct TableRequest {
  std::int64_t lot{};  ///< discs, 2 or more
  double quality_limit{1.0};
  Level level{Level::two};
  Inspection inspection{Inspection::normal};
  bool two_stages{};  ///< a double plan, where the tables have one
  Edition edition{Edition::published};
};

struct TablePlan {
  char letter{};       ///< the lot's code letter
  char plan_letter{};  ///< of the plan taken, where an arrow leads to another
  bool whole_lot{};    ///< the sample is not smaller than the lot: every disc is heard
  bool one_stage{};    ///< a double plan was asked for, and there is a single one in its place
  std::vector<SamplingStage> stages{};
};

/// Errors: Fault::bad_input for a limit that is none of the 26 (the nearest are named), a lot under 2;
/// Fault::out_of_range for reduced plans that are not held here.
Result<TablePlan> table_plan(const TableRequest&);

[[nodiscard]] char code_letter(std::int64_t lot, Level);

}  // namespace goodside::plan
