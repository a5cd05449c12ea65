#pragma once
#include <optional>
#include <string>

#include "ledger/record.hpp"

namespace goodside::serve {

/// The side that lies under the stylus when a ticket's disc is played.
struct TicketSide {
  ledger::Row side{};
  std::optional<ledger::Row> cut{};  ///< of the stamper that pressed it, else the side's newest
  std::string name{};                ///< of the title
};

/// Stops with 404 where there is no such ticket, with 422 where its title has no such side.
[[nodiscard]] TicketSide ticket_side(ledger::Reader& reader,
                                     const std::string& ticket,
                                     const std::string& letter);

/// Turns a minute, of the cut, the side or its format; nothing where none says.
[[nodiscard]] std::optional<double> speed_rpm(const TicketSide& side);

}  // namespace goodside::serve
