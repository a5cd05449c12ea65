#include <fmt/format.h>

#include "line/move_discs.hpp"
#include "line/quarantine.hpp"
#include "serve/board.hpp"
#include "serve/by_hand.hpp"
#include "serve/hold_node.hpp"
#include "serve/nodes.hpp"

namespace goodside::serve {
namespace {

constexpr std::size_t most_ranges = 1000;

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

std::vector<works::Impressions> ranges_of(const Body& body) {
  std::vector<works::Impressions> ranges;
  for (const json::Node& one : body.list("impressions")) ranges.push_back(range_of(one));
  if (ranges.empty() || ranges.size() > most_ranges)
    throw Stop{422, fmt::format("impressions: give 1 to {} ranges", most_ranges)};
  return ranges;
}

/// Impressions of one run, as they are counted there.
line::Quarantined hold_of_run(const line::Desk& desk, const Body& body, const std::string& reason) {
  const auto ranges = ranges_of(body);
  if (ranges.size() != 1) throw Stop{422, "impressions: of a run give one range a hold"};
  const auto moved = or_stop(
      line::hold(desk, {.run = code_in(body, "run", true), .impressions = ranges.front()}, reason));
  line::Quarantined held;
  held.discs = moved.discs;
  held.gone = moved.shipped;
  held.head = moved.head;
  return held;
}

/// Impressions of the title over all its runs, as a trace counts them.
line::Quarantined hold_of_title(const line::Desk& desk,
                                const Body& body,
                                const std::string& reason) {
  std::string side = body.has("side") ? code_in(body, "side", true) : "";
  if (side.empty()) {
    const std::string title = code_in(body, "title", true);
    or_stop(desk.record.read([&](ledger::Reader& reader) {
      const auto sides = reader.standing("side", "title", title);
      if (sides.empty()) throw Stop{404, fmt::format("there is no title {} with sides", title)};
      side = ledger::text(ledger::at(sides.front(), "code"));
    }));
  }
  return or_stop(
      line::quarantine(desk,
                       {.side = side,
                        .fault = static_cast<int>(body.maybe_number("fault").value_or(0)),
                        .impressions = ranges_of(body),
                        .reason = reason},
                       false));
}

Answer hold(Board& board, Asked& asked) {
  const Body body{asked};
  const std::string reason = body.text("reason");
  if (body.has("run") + body.has("side") + body.has("title") != 1)
    throw Stop{400, "give a run, a side or a title, one of them"};
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    out = held_node(body.has("run") ? hold_of_run(desk, body, reason)
                                    : hold_of_title(desk, body, reason));
  });
  return answer(out, 201);
}

Answer undo(Board& board, Asked& asked) {
  return undo_entry(board, asked, [](const ledger::Event& event) {
    if (!is_quarantine(event))
      throw Stop{409, fmt::format("entry {} is no quarantine ({})", event.seq, event.what)};
  });
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
