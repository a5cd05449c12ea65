#pragma once
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/control_chart.hpp"

namespace goodside::plan {

using works::RunRule;

/// "limits", "western-electric", "nelson". Source: Western Electric, Statistical Quality Control
/// Handbook, 1956; L. S. Nelson, Journal of Quality Technology 16, 1984 (both from memory).
/// Errors: Fault::bad_input, naming them.
Result<std::vector<RunRule>> read_rules(std::string_view typed);

/// Which rules each point breaks, of standardised values (value - centre) / sigma in their order. A
/// point breaks a rule when it completes the pattern, being one of its points.
[[nodiscard]] std::vector<std::vector<RunRule>> broken_rules(std::span<const double> standardised,
                                                             std::span<const RunRule> rules);

/// Mean number of independent normal points to the first signal, the mean shifted by `shift` sigma: by
/// the chain of all that the rules remember, solved by iteration to 1e-9 of itself. None for rules
/// that look at more than zones (trends, alternation). Source of the method: C. W. Champ, W. H.
/// Woodall, Technometrics 29, 1987.
[[nodiscard]] std::optional<double> run_length(std::span<const RunRule> rules, double shift);

}  // namespace goodside::plan
