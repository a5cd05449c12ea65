#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "json/node.hpp"
#include "press/fit.hpp"
#include "press/setup.hpp"
#include "press/study.hpp"

namespace goodside::line {

/// Where a press and its cycle come from: a compound's usual press, then a file's figures, then
/// those given one by one as name=value.
struct PressSource {
  std::string compound;  ///< vinyl or shellac; empty: the file's, or else vinyl
  std::string file;
  std::vector<std::string> figures;
};
/// Checked. Errors: of the file with its line; of a figure with its name; Fault as press::check.
Result<press::CycleSetup> press_setup(const PressSource&);

/// The same as a file that press_setup reads back.
[[nodiscard]] std::string press_toml(const press::CycleSetup&);

struct PressLogs {
  std::string thermocouples, ladder;  ///< paths of CSV; empty: not given
};
/// Fits to the logs given, heat before flow. Errors: of the files and of the fits.
Result<std::vector<press::Fitted>> fit_press(const press::CycleSetup&, const PressLogs&);

/// All that was computed of one cycle.
struct CycleAnswer {
  press::CycleSetup setup;
  press::Periodic periodic;
  press::CycleResult cycle;  ///< with its moments and profiles
  press::Sensitivities doubts;
  std::optional<press::Best> best;
  std::optional<press::WindowMap> window;
  std::optional<press::Trials> trials;
  std::vector<press::Fitted> fits;
};
/// `"schema": "goodside.cycle/1"`; docs/press.md lists its fields.
[[nodiscard]] json::Node cycle_node(const CycleAnswer&);

/// Why an answer serves comparison only; empty once the press is calibrated.
[[nodiscard]] std::string uncalibrated(const press::CycleSetup&);

}  // namespace goodside::line
