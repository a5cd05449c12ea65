#pragma once
#include <functional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "line/hear_capture.hpp"
#include "works/listening_report.hpp"
#include "works/truth.hpp"

namespace goodside::line {

/// One pressed side of the invented works "Tarnholt".
struct DemoDisc {
  std::string name;  ///< "disc-2-scratched", of its files too
  std::string made;  ///< what was done to it, in one clause
  bool good{};       ///< whether a listener ought to let it out of the door
  std::string cut, capture, truth, report, portrait, page;  ///< paths
};

/// The disc, what it really holds, and what the bench heard.
struct HeardDemoDisc {
  DemoDisc disc;
  works::Truth truth;
  works::ListeningReport report;
  [[nodiscard]] bool as_it_should_be() const { return report.verdict.pass == disc.good; }
  /// How many of the truth's faults the report has: within 5 ms in the capture, 30 ms for the seams
  /// of jumps and repeats.
  [[nodiscard]] int found() const;
};

struct DemoWorks {
  works::CutSide side;
  listen::Bench bench;
  std::string cut;  ///< path of the cut that all discs are heard against
  std::vector<HeardDemoDisc> discs;
};

/// What is being done, and the share done in [0, 1]; returns false to stop.
using DemoProgress = std::function<bool(const std::string& doing, double share)>;

/// Writes the works into `folder` (made where it is not there): two cuts, the captures of five
/// discs with their truth, a report, a portrait and a page of each. Files of the same names are replaced,
/// others left alone. Equal programs write equal bytes. `jobs` cores, 0: all. Errors: those of
/// play_side and hear_capture; Fault::io when the folder cannot be written; Fault::conflict when
/// `progress` asked to stop.
Result<DemoWorks> make_demo_works(const std::string& folder,
                                  int jobs,
                                  const Engine& engine,
                                  const DemoProgress& progress);

}  // namespace goodside::line
