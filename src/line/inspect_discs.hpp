#pragma once
#include <cstdint>
#include <optional>
#include <string>

#include "line/desk.hpp"

namespace goodside::line {

/// Discs of a run on one spindle that somebody looks at. Without a spindle: what lies on none.
struct Looked {
  std::string run, spindle{};
};

/// So many of them are seen to be bad: they go to scrap, and into the tally of the inspection that is open there (or begins
/// with them), in one entry, so that the count closes after each touch and `reverse_entry` takes one back.
struct Reject {
  Looked of;
  std::string reason;  ///< one of the tally's own
  std::int64_t quantity{1};
};
struct Rejected {
  ledger::Head head;
  std::string inspection;
  std::int64_t left{};  ///< still to be looked at
};
/// Errors: Fault::bad_input for a reason that the record has not (with those it has); Fault::not_found where nothing is to
/// be looked at; Fault::conflict where fewer are there.
Result<Rejected> reject_discs(const Desk& desk, const Reject& reject);

/// The rest are good: they go to good stock on their spindle, and the inspection is ended with all that were looked at.
struct Passed {
  ledger::Head head;
  std::string inspection;
  std::int64_t good{}, rejected{};
};
/// `counted`: the good ones as somebody counted them. Errors: Fault::conflict where that differs from the ledger.
Result<Passed> pass_rest(const Desk& desk,
                         const Looked& of,
                         const std::optional<std::int64_t>& counted);

/// The inspection that is open on these discs; nothing where there is none.
[[nodiscard]] std::optional<ledger::Row> open_inspection(ledger::Reader& reader, const Looked& of);
/// What its tally says, over all reasons.
[[nodiscard]] std::int64_t tallied(ledger::Reader& reader, const std::string& inspection);

}  // namespace goodside::line
