#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "line/inspect_discs.hpp"
#include "line/move_discs.hpp"
#include "serve/by_hand.hpp"
#include "works/caution.hpp"
#include "works/kind.hpp"

// The inspection table: what lies there to be looked at, and each disc that is taken off, by the record's own reasons.

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::size_t most_stacks = 200;

List reasons() {
  List list;
  std::string_view rest = works::find_field(works::kind_of_table("tally"), "reason")->choices;
  while (!rest.empty()) {
    const auto bar = std::min(rest.find('|'), rest.size());
    list.emplace_back(std::string{rest.substr(0, bar)});
    rest.remove_prefix(std::min(bar + 1, rest.size()));
  }
  return list;
}

/// The newest entry of this inspection that still stands, for the key that takes it back.
json::Node last_entry(Reader& reader, const std::string& run, const std::string& inspection) {
  std::set<std::int64_t> reversed;
  for (const ledger::Event& event : ledger::newest_events(reader.connection(), run, 60)) {
    if (event.reverses) reversed.insert(*event.reverses);
    if (!event.what.starts_with("inspect: ") || reversed.contains(event.seq)) continue;
    if (!event.body.empty() && event.body.find(inspection) == std::string::npos) continue;
    return Object{{"entry", event.seq}, {"who", event.who}, {"what", event.what.substr(9)}};
  }
  return {};
}

/// The inspections that are open, by run and spindle: one question for all stacks.
using Open = std::map<std::pair<std::string, std::string>, Row>;
Open open_inspections(Reader& reader) {
  Open open;
  for (const auto& cells : reader.connection().ask(
           "SELECT code FROM inspection WHERE looked = 0 AND coalesce(void, 0) = 0"))
    if (auto row = reader.find("inspection", cells[0]))
      open.emplace(std::pair{text(at(*row, "run")), text(at(*row, "spindle"))}, std::move(*row));
  return open;
}

json::Node inspection_node(Reader& reader, const Open& all, const line::Looked& of) {
  const auto open = all.find({of.run, of.spindle});
  if (open == all.end()) return {};
  const std::string code = text(at(open->second, "code"));
  List tallies;
  for (const Row& row : reader.standing("tally", "inspection", code))
    tallies.push_back(
        Object{{"reason", text(at(row, "reason"))}, {"quantity", whole(at(row, "quantity"))}});
  return Object{{"code", code},
                {"who", cell(open->second, "who")},
                {"at_ms", whole(at(open->second, "at_ms"))},
                {"rejected", line::tallied(reader, code)},
                {"tallies", std::move(tallies)},
                {"last", last_entry(reader, of.run, code)}};
}

json::Node stack_node(Reader& reader,
                      const Open& open,
                      const std::string& run,
                      const std::string& spindle,
                      const ledger::Values& cells) {
  const Row row = need(reader, "run", run);
  const Row title = need(reader, "title", text(at(row, "title")));
  json::Node name;
  if (!spindle.empty())
    if (const auto known = reader.find("spindle", spindle)) name = cell(*known, "name");
  return Object{{"run", run},
                {"order", text(at(row, "order"))},
                {"title", text(at(title, "code"))},
                {"name", text(at(title, "name"))},
                {"spindle", or_null(spindle)},
                {"spindle_name", name},
                {"discs", whole(cells[2])},
                {"pressed", whole(cells[3])},
                {"impressions", range_node(whole(cells[4]), whole(cells[5]))},
                {"inspection", inspection_node(reader, open, {.run = run, .spindle = spindle})}};
}

Answer table(Board& board) {
  Object out;
  board.read([&](Reader& reader) {
    List stacks;
    const Open open = open_inspections(reader);
    for (const std::string& order : board.standing.orders_to_inspect(most_stacks))
      for (const auto& cells : reader.connection().ask(
               "SELECT h.run, h.at, CAST(sum(h.quantity) AS BIGINT), CAST(sum(CASE WHEN h.place = "
               "'pressed' THEN h.quantity ELSE 0 END) AS BIGINT), min(h.\"first\"), "
               "max(h.\"last\") FROM run r JOIN holding h ON h.run = r.code WHERE r.\"order\" = $1 "
               "AND h.place IN ('pressed', 'edge finished') AND h.quantity > 0 GROUP BY h.run, "
               "h.at "
               "ORDER BY h.run DESC, h.at",
               {order}))
        if (stacks.size() < most_stacks)
          stacks.push_back(stack_node(reader, open, text(cells[0]), text(cells[1]), cells));
    out = {{"stacks", std::move(stacks)},
           {"reasons", reasons()},
           {"caution", works::caution(works::Station::packing)}};
  });
  return answer(out);
}

Answer reject(Board& board, Asked& asked) {
  const std::string run = code_of(asked, "code");
  const Body body{asked};
  const line::Reject wanted{.of = {.run = run, .spindle = code_in(body, "spindle")},
                            .reason = body.text("reason"),
                            .quantity = body.maybe_number("quantity").value_or(1)};
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto done = or_stop(line::reject_discs(desk, wanted));
    out = entered_object(done.inspection, done.head);
    out.emplace_back("left", done.left);
  });
  return answer(out, 201);
}

Answer pass(Board& board, Asked& asked) {
  const std::string run = code_of(asked, "code");
  const Body body{asked};
  const line::Looked of{.run = run, .spindle = code_in(body, "spindle")};
  const auto good = body.maybe_number("counted");
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto done = or_stop(line::pass_rest(desk, of, good));
    out = entered_object(done.inspection, done.head);
    out.emplace_back("good", done.good);
    out.emplace_back("rejected", done.rejected);
  });
  return answer(out, 201);
}

json::Node moved_node(const line::Moved& moved) {
  Object out = entered_object("", moved.head);
  out.emplace_back("discs", moved.discs);
  return out;
}

/// The command's `move`: edge finished, good stock, scrap.
Answer move(Board& board, Asked& asked) {
  const std::string run = code_of(asked, "code");
  const Body body{asked};
  const works::Spot to{or_stop(works::read_place(body.text("to"))),
                       code_in(body, "to_spindle"),
                       body.text_or("reason", ""),
                       {}};
  line::Choice choice{.run = run,
                      .impressions = range_in(body, "impressions"),
                      .quantity = body.maybe_number("quantity"),
                      .at = code_in(body, "spindle")};
  if (body.has("from")) choice.places = {or_stop(works::read_place(body.text("from")))};
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    out = moved_node(or_stop(line::move_discs(desk, choice, to)));
  });
  return answer(out, 201);
}

/// Suspect stock is let go.
Answer release(Board& board, Asked& asked) {
  const std::string run = code_of(asked, "code");
  const Body body{asked};
  const line::Choice choice{.run = run,
                            .impressions = range_in(body, "impressions"),
                            .reason = body.text_or("reason", "")};
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    out = moved_node(or_stop(line::release(desk, choice)));
  });
  return answer(out, 201);
}

}  // namespace

std::vector<Route> inspect_routes(Board& board) {
  return {{.method = "GET", .path = "/api/inspection", .run = [&](Asked&) { return table(board); }},
          {.method = "POST",
           .path = "/api/runs/{code}/rejects",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return reject(board, asked); }},
          {.method = "POST",
           .path = "/api/runs/{code}/passed",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return pass(board, asked); }},
          {.method = "POST",
           .path = "/api/runs/{code}/moves",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return move(board, asked); }},
          {.method = "POST",
           .path = "/api/runs/{code}/release",
           .roles = {Role::engineer},
           .run = [&](Asked& asked) { return release(board, asked); }}};
}

}  // namespace goodside::serve
