#pragma once
#include <string>
#include <vector>

#include "cli/args.hpp"
#include "cli/command.hpp"
#include "draw/curve_plot.hpp"
#include "json/node.hpp"
#include "plan/sampling_design.hpp"

namespace goodside::cli {

/// --lot, and the four figures of the two risks, for verbs of `accept`.
[[nodiscard]] std::vector<Option> risk_options();
/// Errors: Fault::bad_input with the option's name.
Result<plan::Risks> given_risks(const Args&, std::int64_t lot);

/// The options that every verb of `accept` has, after its own.
[[nodiscard]] std::vector<Option> with_answer_options(std::vector<Option> own, bool picture);

/// A plan's name and boundaries, for a picture of several.
struct NamedPlan {
  std::string name;
  plan::Boundaries boundaries;
  draw::CurveInk ink{draw::CurveInk::copper};
};
/// Chance to be shipped, discs heard, and what leaves the works, over the share of flawed discs.
[[nodiscard]] draw::CurvePicture curves_picture(const std::vector<NamedPlan>&,
                                                std::int64_t lot,
                                                const std::string& title,
                                                const std::string& whose);
/// The curves of one plan as JSON.
[[nodiscard]] json::Node curves_node(const plan::PlanCurves&);
[[nodiscard]] json::Node stages_node(const std::vector<plan::SamplingStage>&);

/// "50 discs: ship at 1 flawed or fewer, hold at 2 or more".
[[nodiscard]] std::string stages_text(const std::vector<plan::SamplingStage>&);

}  // namespace goodside::cli
