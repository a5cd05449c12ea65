#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/bench_check.hpp"
#include "works/learned_limits.hpp"
#include "works/limits.hpp"

namespace goodside::line {

/// Reports that listeners' verdicts are known of. Each path is a report or a folder of them.
struct ListenersVerdicts {
  std::vector<std::string> passed, failed;
  std::string format{};  ///< empty: the reports' own, where all are of one
  double missed_weighs{1.0};
  std::string limits{};  ///< file of limits to begin from; empty: the built-in ones
};

/// Reads the reports one at a time and learns limits from them (listen/learn_limits.hpp). Of a
/// folder every *.json is taken in the order of names; what there is no listening report is passed
/// over with a remark, as are discs of another format. Errors: Fault::not_found and
/// Fault::bad_input naming the file; a disc both passed and failed; reports of several formats
/// without one chosen; none left.
Result<works::LearnedLimits> learn_from_reports(const ListenersVerdicts&);

/// The plays of a check disc, in order of time, and the day of each where they were not one a day.
struct CheckDiscPlays {
  std::vector<std::string> reports;  ///< files, or one folder whose names are in order of time
  std::vector<double> day{};
  int first_plays{};  ///< 0: as listen/check_disc.hpp chooses
};

/// Reads the reports and charts the bench (listen/check_disc.hpp). Curves, maps and faults are let
/// go on the way, so a year of plays stays small. Errors: as above.
Result<works::BenchCheck> check_bench_by_reports(const CheckDiscPlays&);

}  // namespace goodside::line
