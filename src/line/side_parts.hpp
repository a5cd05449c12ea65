#pragma once
#include <string>
#include <vector>

#include "ledger/record.hpp"

namespace goodside::line {

/// Closings of a part over all its mountings.
[[nodiscard]] double closings_of(ledger::Reader& reader, const std::string& part);

/// Every part of a side, through its cuts and their descendants.
[[nodiscard]] std::vector<ledger::Row> parts_of(ledger::Reader& reader, const std::string& side);

/// In the house and good: ready, resting or on a press.
[[nodiscard]] bool usable(const ledger::Row& part);

}  // namespace goodside::line
