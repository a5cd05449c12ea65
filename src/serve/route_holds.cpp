#include <fmt/format.h>

#include "line/move_discs.hpp"
#include "line/reverse_entry.hpp"
#include "serve/board.hpp"
#include "serve/nodes.hpp"
#include "works/code.hpp"

namespace goodside::serve {
namespace {

works::Impressions range_of(const json::Node& node) {
  const auto* ends = std::get_if<List>(&node.value);
  const auto end = [&](std::size_t k) -> std::int64_t {
    const auto* number = std::get_if<std::int64_t>(&ends->at(k).value);
    return number == nullptr ? 0 : *number;
  };
  if (ends == nullptr || ends->size() != 2 || end(0) < 1 || end(1) < end(0))
    throw Stop{422, "impressions: give ranges as [first, last], from 1 up"};
  return {end(0), end(1)};
}

Answer hold(Board& board, Asked& asked) {
  const Body body{asked};
  const List& ranges = body.list("impressions");
  const std::string reason = body.text("reason");
  if (!body.has("run"))
    throw Stop{501,
               "suspect impressions of a side over all its runs are not held here yet; give run, "
               "or use `goodside works hold`"};
  const auto run = works::read_code(body.text("run"));
  if (!run) throw Stop{422, "run: " + run.error().text};
  if (ranges.size() != 1) throw Stop{422, "impressions: of a run give one range a hold"};
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto moved =
        or_stop(line::hold(desk, {.run = *run, .impressions = range_of(ranges.front())}, reason));
    out = {{"entry", moved.head.seq},
           {"hash", moved.head.hash},
           {"discs", moved.discs},
           {"shipped", moved.shipped}};
  });
  return answer(out, 201);
}

Answer undo(Board& board, Asked& asked) {
  const auto entry = whole_number(asked.part("entry"));
  if (!entry) throw Stop{400, "entry: give the number of the quarantine's entry"};
  const Body body{asked};
  const std::string reason = body.text("reason");
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    or_stop(desk.record.read([&](ledger::Reader& reader) {
      const auto event = ledger::event_of(reader.connection(), *entry);
      if (!event) throw Stop{404, fmt::format("there is no entry {}", *entry)};
      if (event->what != "hold" && !event->what.starts_with("quarantine"))
        throw Stop{409, fmt::format("entry {} is no quarantine ({})", *entry, event->what)};
    }));
    const auto head = or_stop(line::reverse_entry(desk, *entry, reason));
    out = {{"entry", head.seq}, {"hash", head.hash}};
  });
  return answer(out, 201);
}

}  // namespace

std::vector<Route> hold_routes(Board& board) {
  return {{.method = "POST",
           .path = "/api/holds",
           .roles = {Role::station, Role::engineer},
           .run = [&](Asked& asked) { return hold(board, asked); }},
          {.method = "POST",
           .path = "/api/holds/{entry}/undo",
           .roles = {Role::engineer},
           .run = [&](Asked& asked) { return undo(board, asked); }}};
}

}  // namespace goodside::serve
