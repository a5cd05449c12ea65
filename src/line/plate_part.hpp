#pragma once
#include <string>

#include "line/desk.hpp"
#include "works/part.hpp"
#include "works/plating.hpp"

namespace goodside::line {

/// What the record says of a part that is to be plated.
struct PartToPlate {
  std::string code;
  works::Step step{works::Step::grown};  ///< what the plating will be: it grows, or it gets a face
  works::StartingFace face{works::StartingFace::bare};
  double base_m{};       ///< thickness of the metal beneath, from its growth; 0: not known
  std::string format{};  ///< of its side; empty: not known
};

/// A growing part grows on its parent: lacquer and wax are silvered, metal is passivated. A part that is being
/// finished is faced. Errors: Fault::not_found; Fault::conflict for a part that is neither.
Result<PartToPlate> part_to_plate(ledger::Record& record, const std::string& code);

/// Enters the run as the part's step with its readings: metal, thickness_m (mean), mass_kg, charge_C, time_s, current_A (the last),
/// and with a cell thinnest_m, thickest_m of the groove band. Errors: those of log_step.
Result<Entered> log_plating(const Desk& desk, const PartToPlate&, const works::PlatingReport&);

}  // namespace goodside::line
