#pragma once
#include "json/node.hpp"
#include "ledger/event.hpp"
#include "ledger/row.hpp"
#include "works/holding.hpp"
#include "works/kind.hpp"

namespace goodside::line {

// What the record holds, as the commands' --json and the API show it.

/// A row by its columns, in the order of the noun's fields; what is null is left out.
[[nodiscard]] json::Node as_node(const works::Kind& kind, const ledger::Row& row);
[[nodiscard]] json::Node as_node(const ledger::Head& head);
[[nodiscard]] json::Node as_node(const works::Holding& holding);

}  // namespace goodside::line
