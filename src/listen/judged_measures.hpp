#pragma once
#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "works/limits.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

/// One measure that the verdict holds against a limit, "no more than".
struct JudgedMeasure {
  std::string_view rule;  ///< as in Limits and the verdict
  std::string_view name;  ///< in the trade's words
  std::string_view unit;
  double units_each{1.0};  ///< shown figure = value * units_each
  std::optional<int> works::Limits::*count{};
  std::optional<double> works::Limits::*figure{};
};

inline constexpr std::size_t judged_count = 14;

/// Every measure of Limits but `jumps_allowed`, in the order of its fields.
[[nodiscard]] std::span<const JudgedMeasure, judged_count> judged_measures();

[[nodiscard]] std::optional<double> limit_of(const works::Limits&, const JudgedMeasure&);
void set_limit(works::Limits&, const JudgedMeasure&, double limit);

/// "-41.3 dB", "0.23 mm", "3 faults".
[[nodiscard]] std::string shown(const JudgedMeasure&, double value);

struct JudgedValues {
  /// What the verdict compares, in the order of judged_measures; null where it was not measured. No
  /// fault at all counts as none (loudest_fault_dB: -infinity).
  std::array<std::optional<double>, judged_count> values{};
  bool placed{};          ///< the cut was found
  bool off_the_groove{};  ///< a jump or a repeat
};

/// The very figures that `judge` compares: it is asked with limits that everything breaks.
[[nodiscard]] JudgedValues judged_values(const works::ListeningReport&);

}  // namespace goodside::listen
