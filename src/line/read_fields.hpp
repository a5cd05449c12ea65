#pragma once
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "ledger/row.hpp"
#include "works/kind.hpp"

namespace goodside::line {

/// Fields as people type them: name and text.
using Typed = std::vector<std::pair<std::string, std::string>>;

/// One field's text as the table keeps it. Errors: Fault::bad_input, naming the field.
Result<ledger::Value> read_field(const works::Field& field, std::string_view text);

/// All of a noun's fields. Besides the noun's own: `note`, `at` (when it happened), and with
/// `from_cards` its `code` in the works' older way. Errors: Fault::bad_input for a field that the
/// noun has not (with those it has), one given twice, one that is missing, one that the record sets
/// itself.
Result<ledger::Row> read_fields(const works::Kind& kind, const Typed& typed, bool from_cards);

/// Text that the record takes: UTF-8, at most 4000 bytes, no control characters but tab and line
/// end. Errors: Fault::bad_input.
Outcome fit_text(std::string_view text);

/// A cell as people read it: quantities in SI with their unit's name in the column, instants in the
/// works' zone, flags as yes and no.
[[nodiscard]] std::string shown_cell(const works::Kind& kind,
                                     std::string_view column,
                                     const ledger::Value& value);

}  // namespace goodside::line
