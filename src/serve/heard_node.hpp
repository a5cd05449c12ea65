#pragma once
#include "serve/nodes.hpp"

namespace goodside::serve {

/// How a side stands, with its title's name.
[[nodiscard]] json::Node side_node(ledger::Reader& reader, const HeardSum& sum);
[[nodiscard]] json::Node stamper_node(const HeardSum& sum, std::int64_t closings);
/// The side as it is drawn: by its cut where that says more than its format; null where neither
/// tells.
[[nodiscard]] json::Node shape_node(ledger::Reader& reader, const ledger::Row& side);
/// The cut that counts: the stamper's own, else the side's newest.
[[nodiscard]] std::optional<ledger::Row> cut_of(ledger::Reader& reader,
                                                const std::string& side,
                                                const std::string& stamper);

}  // namespace goodside::serve
