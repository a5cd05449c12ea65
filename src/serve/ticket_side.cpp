#include "serve/ticket_side.hpp"

#include <fmt/format.h>

#include "disc/format.hpp"
#include "serve/heard_node.hpp"
#include "serve/nodes.hpp"

namespace goodside::serve {

using ledger::at;
using ledger::Row;
using ledger::text;

TicketSide ticket_side(ledger::Reader& reader,
                       const std::string& ticket_code,
                       const std::string& letter) {
  const Row ticket = need(reader, "ticket", ticket_code);
  const Row run = need(reader, "run", text(at(ticket, "run")));
  const std::string title = text(at(run, "title"));
  TicketSide found{.name = text(at(need(reader, "title", title), "name"))};
  for (Row& one : reader.standing("side", "title", title))
    if (text(at(one, "letter")) == letter) found.side = std::move(one);
  if (found.side.empty())
    throw Stop{
        422,
        fmt::format(
            "title {} has no side {}; enter it with `goodside works add side`", title, letter)};
  std::string stamper;
  if (!ledger::is_null(at(ticket, "mounting")))
    if (const auto mounting = reader.find("mounting", at(ticket, "mounting")))
      stamper = text(at(*mounting, (letter.front() - 'A') % 2 == 1 ? "stamper_b" : "stamper_a"));
  found.cut = cut_of(reader, text(at(found.side, "code")), stamper);
  return found;
}

std::optional<double> speed_rpm(const TicketSide& side) {
  if (side.cut)
    if (const auto* rpm = std::get_if<double>(&at(*side.cut, "speed_rpm"))) return *rpm;
  if (const auto* rpm = std::get_if<double>(&at(side.side, "speed_rpm"))) return *rpm;
  if (const auto format = disc::format(text(at(side.side, "format")))) return format->rpm;
  return std::nullopt;
}

}  // namespace goodside::serve
