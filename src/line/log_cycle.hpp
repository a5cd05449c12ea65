#pragma once
#include <string>

#include "line/desk.hpp"
#include "press/cycle.hpp"

namespace goodside::line {

/// Enters a cycle as a recipe of the record, to be given to runs and pressings and found again from a
/// disc: steam pressure and times, the stampers' highest temperature; what else it was, and whether it
/// was calibrated, in the note. Errors: as add_noun.
Result<Entered> log_cycle(const Desk& desk,
                          const press::CycleSetup& setup,
                          const press::CycleResult& cycle,
                          const std::string& name);

}  // namespace goodside::line
