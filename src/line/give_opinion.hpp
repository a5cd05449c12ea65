#pragma once
#include <cstdint>
#include <optional>
#include <string>

#include "line/desk.hpp"

namespace goodside::line {

/// What a listener says beside a listening report.
struct Opinion {
  std::string report;                 ///< code
  std::optional<std::int64_t> fault;  ///< id in the report; none: the verdict as a whole
  std::string opinion;                ///< agree, disagree; added: heard, and not in the report
  std::optional<double> programme_s{}, capture_s{};  ///< of one added
  std::string what{}, words{};
};

/// Enters it. A fault that was added is a listener's remark on the disc as well, so that tracing
/// weighs it; its place is known to a second either side, since a key is struck late (common
/// practice, no source). Errors: Fault::not_found for no such report, Fault::bad_input.
Result<Entered> give_opinion(const Desk& desk, const Opinion& opinion);

/// Takes back what was said, and the remark that came with it, by an entry of its own. `of_others`:
/// also what somebody else said. Errors: Fault::not_found where the report has no such opinion,
/// Fault::conflict where it was taken back before or is somebody else's; those of reverse_entry.
Result<ledger::Head> take_back_opinion(const Desk& desk,
                                       const std::string& report,
                                       const std::string& opinion,
                                       const std::string& reason,
                                       bool of_others);

}  // namespace goodside::line
