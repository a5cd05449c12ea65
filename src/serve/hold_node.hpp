#pragma once
#include "json/node.hpp"
#include "line/quarantine.hpp"

namespace goodside::serve {

/// What a quarantine held, and what it could not reach.
[[nodiscard]] json::Node held_node(const line::Quarantined& held);

}  // namespace goodside::serve
