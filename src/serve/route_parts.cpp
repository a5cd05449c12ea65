#include <fmt/format.h>

#include <array>

#include "line/hold_part.hpp"
#include "line/part_life.hpp"
#include "serve/by_hand.hpp"
#include "serve/hold_node.hpp"
#include "works/caution.hpp"
#include "works/part.hpp"

// The family of a title part by part, and what may be done to a part and is done.

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::size_t most_parts = 2000;

constexpr std::array by_hand{works::Step::silvered,
                             works::Step::passivated,
                             works::Step::grown,
                             works::Step::separated,
                             works::Step::faced,
                             works::Step::chromium_stripped,
                             works::Step::backed,
                             works::Step::washed,
                             works::Step::centred,
                             works::Step::punched,
                             works::Step::trimmed,
                             works::Step::inspected,
                             works::Step::failed_inspection,
                             works::Step::washed_on_press,
                             works::Step::repaired,
                             works::Step::horns_removed,
                             works::Step::ticks_removed,
                             works::Step::withdrawn,
                             works::Step::taken_back,
                             works::Step::scrapped};
constexpr std::array grows{
    works::PartKind::father, works::PartKind::mother, works::PartKind::stamper};

std::int64_t closings_of(Reader& reader, const std::string& part) {
  return ask_number(reader,
                    "SELECT CAST(coalesce(sum(p.\"last\" - p.\"first\" + 1), 0) AS BIGINT) FROM "
                    "mounting m JOIN pressing p ON p.mounting = m.code WHERE (m.stamper_a = $1 OR "
                    "m.stamper_b = $1) AND coalesce(m.void, 0) = 0 AND coalesce(p.void, 0) = 0",
                    {part});
}

json::Node family_part(Board& board, Reader& reader, const Row& row, const std::string& letter) {
  const std::string code = text(at(row, "code"));
  const HeardSum heard = board.standing.stamper(code);
  const auto last = reader.connection().ask(
      "SELECT what, at_ms FROM step WHERE part = $1 AND coalesce(void, 0) = 0 ORDER BY event DESC "
      "LIMIT 1",
      {code});
  return Object{{"code", code},
                {"kind", text(at(row, "kind"))},
                {"letter", letter},
                {"side", text(at(row, "side"))},
                {"parent", or_null(text(at(row, "parent")))},
                {"grown", cell(row, "grown")},
                {"origin", cell(row, "origin")},
                {"state", text(at(row, "state"))},
                {"face", whole(at(row, "face"))},
                {"closings", closings_of(reader, code)},
                {"heard", heard.plays},
                {"passed", heard.passed},
                {"last_step",
                 last.empty() ? json::Node{}
                              : json::Node{Object{{"what", text(last[0][0])},
                                                  {"at_ms", whole(last[0][1])}}}}};
}

Answer family(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row title = need(reader, "title", code);
    List parts, cuts;
    for (const Row& side : reader.standing("side", "title", code)) {
      const std::string letter = text(at(side, "letter"));
      for (const Row& cut : reader.standing("cut", "side", at(side, "code")))
        cuts.push_back(Object{{"code", text(at(cut, "code"))},
                              {"side", text(at(side, "code"))},
                              {"letter", letter},
                              {"reference", cell(cut, "reference")}});
      for (const Row& part : reader.standing("part", "side", at(side, "code")))
        if (parts.size() < most_parts) parts.push_back(family_part(board, reader, part, letter));
    }
    out = {{"title", code},
           {"name", text(at(title, "name"))},
           {"cuts", std::move(cuts)},
           {"parts", std::move(parts)}};
  });
  return answer(out);
}

works::Station station_of(const works::Part& part) {
  if (part.kind == works::PartKind::lacquer || part.kind == works::PartKind::wax)
    return works::Station::silvering;
  if (part.state == works::PartState::on_press) return works::Station::press;
  return part.state == works::PartState::growing ? works::Station::plating
                                                 : works::Station::finishing;
}

/// What may be done to it as it stands, and why the rest may not: the rules of the command.
Answer acts(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    static_cast<void>(need(reader, "part", code));
    const line::KnownPart known = line::known_part(reader, code);
    const line::KnownParent parent = line::parent_facts(reader, code);
    List steps, children;
    for (const works::Step step : by_hand) {
      const auto then = works::after(known.part, step);
      steps.push_back(
          Object{{"step", std::string{word(step)}},
                 {"may", then.has_value()},
                 {"state_after", then ? json::Node{std::string{word(then->state)}} : json::Node{}},
                 {"why_not", then ? json::Node{} : json::Node{then.error().text}}});
    }
    for (const works::PartKind kind : grows) {
      const auto may = works::may_grow(kind, parent.parent);
      children.push_back(Object{{"kind", std::string{word(kind)}},
                                {"may", may.has_value()},
                                {"why_not", may ? json::Node{} : json::Node{may.error().text}}});
    }
    const auto side = reader.find("side", at(known.row, "side"));
    out = {{"part", code},
           {"title", side ? cell(*side, "title") : json::Node{}},
           {"state", std::string{word(known.part.state)}},
           {"steps", std::move(steps)},
           {"grows", std::move(children)},
           {"caution", works::caution(station_of(known.part))}};
  });
  return answer(out);
}

Answer do_step(Board& board, Asked& asked) {
  const std::string part = code_of(asked, "code");
  const Body body{asked};
  line::StepDone done{.part = part,
                      .step = or_stop(works::read_step(body.text("step"))),
                      .note = body.text_or("note", "")};
  if (const auto fit = line::fit_text(done.note); !fit) throw Stop{422, fit.error().text};
  if (body.has("readings"))
    for (const auto& [name, said] : typed_fields(*whole_body(asked).find("readings"), "readings"))
      done.readings.push_back(or_stop(line::read_reading(name, said)));
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto entered = or_stop(line::log_step(desk, done));
    out = entered_object(entered.code, entered.head);
    or_stop(desk.record.read([&](Reader& reader) {
      out.emplace_back("state", text(at(reader.need("part", part), "state")));
    }));
  });
  return answer(out, 201);
}

Answer hold(Board& board, Asked& asked) {
  const std::string part = code_of(asked, "code");
  const Body body{asked};
  const std::string reason = body.text("reason");
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto order = or_stop(line::suspects_of_part(desk.record, part, reason));
    out = held_node(or_stop(line::quarantine(desk, order, false)));
  });
  return answer(out, 201);
}

}  // namespace

std::vector<Route> part_routes(Board& board) {
  return {{.method = "GET",
           .path = "/api/titles/{code}/parts",
           .run = [&](Asked& asked) { return family(board, code_of(asked, "code")); }},
          {.method = "GET",
           .path = "/api/parts/{code}/acts",
           .run = [&](Asked& asked) { return acts(board, code_of(asked, "code")); }},
          {.method = "POST",
           .path = "/api/parts/{code}/steps",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return do_step(board, asked); }},
          {.method = "POST",
           .path = "/api/parts/{code}/hold",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return hold(board, asked); }}};
}

}  // namespace goodside::serve
