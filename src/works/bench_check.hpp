#pragma once
#include <optional>
#include <string>
#include <vector>

namespace goodside::works {

// The contract goodside.check-disc/1 as plain structs: one disc played again and again, and whether
// the bench that plays it stands still.

/// One measure of the check disc over its plays.
struct BenchMeasure {
  std::string field;     ///< "alignment.speed_error_ppm", "levels.third_octave.1000"
  std::string name;      ///< in the trade's words
  std::string unit;      ///< as charted
  int plays{};           ///< that have it
  double centre{};       ///< mean of the first plays
  double low{}, high{};  ///< between which a bench that stands still plays
  double repeatability{}, repeatability_low{}, repeatability_high{};  ///< standard deviation, 95 %
  std::optional<double> drift_per_day{}, drift_low{}, drift_high{};   ///< least squares, 99.73 %
  double latest{};
  std::vector<int> outside{};  ///< plays, from 1, outside low..high
  bool moved{};
  std::string how{};  ///< where moved: in a sentence
};

struct BenchCheck {
  std::vector<std::string> plays;  ///< captures, in order of time
  std::vector<double> day;         ///< of each play
  int first_plays{};               ///< that the chart stands on
  bool moved{};
  std::vector<BenchMeasure> measures;
  std::vector<std::string> look_at;  ///< what to look at, the likeliest first
  std::vector<std::string> remarks;
};

}  // namespace goodside::works
