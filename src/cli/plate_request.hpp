#pragma once
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "line/plan_plating.hpp"

namespace goodside::cli {

/// The options of `plate` that say what is plated, in what.
std::vector<Option> plate_options();

/// They as a request. `start` is what the record says of a part, for what no option says.
/// Errors: Fault::bad_input naming the option; those of the table of metals.
struct PlateStart {
  works::StartingFace face{works::StartingFace::bare};
  std::string metals_file{};  ///< goodside.toml of the works, where there is one
  double base_m{};            ///< thickness of the part it grows on; 0: not known
  std::string format{};       ///< of its side; empty: not known
  std::string metal{};        ///< where none is named; empty: nickel
};
Result<line::PlatingRequest> plate_request(const Args& args, const PlateStart& start);

}  // namespace goodside::cli
