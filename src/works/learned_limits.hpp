#pragma once
#include <optional>
#include <string>
#include <vector>

#include "works/limits.hpp"

namespace goodside::works {

// The contract goodside.limits/1 as plain structs: limits learned from discs that listeners judged.

/// How often limits and listeners said the same.
struct Agreement {
  int passed{},
      passed_let_through{};  ///< discs that the listeners passed, and those of them within limits
  int failed{}, failed_held{};    ///< discs that the listeners failed, and those of them outside
  double share{}, low{}, high{};  ///< of all discs; exact 95 % interval
  [[nodiscard]] int agreed() const { return passed_let_through + failed_held; }
  [[nodiscard]] int discs() const { return passed + failed; }
};

struct LearnedMeasure {
  std::string rule;                ///< as in Limits and the verdict
  std::optional<double> built_in;  ///< the limit learning began from; null: not judged
  std::optional<double> limit{};   ///< what stands now
  int discs{};                     ///< that have a figure for it
  int gained{};                    ///< discs that agree by the new limit and would not by the old
  std::string why;                 ///< in a sentence
};

/// A disc on which limits and listeners differ.
struct Miss {
  std::string path;
  bool listeners_passed{};
  std::string why;
};

struct LearnedLimits {
  std::string format;
  Limits limits;
  double missed_weighs{1.0};  ///< a failed disc let through, in passed discs held
  std::vector<LearnedMeasure> measures;
  Agreement built_in;  ///< of the limits learning began from
  Agreement learned;   ///< on the discs it learned from: flatters
  Agreement left_out;  ///< each disc judged by limits learned from the others
  std::vector<Miss> misses;
  std::vector<std::string> remarks;
};

}  // namespace goodside::works
