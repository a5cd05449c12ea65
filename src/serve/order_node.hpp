#pragma once
#include "serve/nodes.hpp"

namespace goodside::serve {

/// How an order stands, with its title's name.
[[nodiscard]] json::Node order_node(ledger::Reader& reader,
                                    const OrderSum& sum,
                                    std::int64_t now_ms);
/// The runs, newest first, at most so many, each with its counts.
[[nodiscard]] json::Node runs_node(ledger::Reader& reader,
                                   Standing& standing,
                                   std::vector<ledger::Row> runs,
                                   std::size_t most);
/// Discs of a run by the place's word; `made`: its impressions.
[[nodiscard]] std::map<std::string, std::int64_t> places_of_run(ledger::Reader& reader,
                                                                const std::string& run,
                                                                std::int64_t& made);

}  // namespace goodside::serve
