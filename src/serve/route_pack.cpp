#include <fmt/format.h>

#include <array>

#include "line/close_units.hpp"
#include "line/fill_cartons.hpp"
#include "line/origin.hpp"
#include "line/plan_packing.hpp"
#include "line/repack.hpp"
#include "line/ship_order.hpp"
#include "line/unit_contents.hpp"
#include "serve/by_hand.hpp"
#include "works/caution.hpp"
#include "works/code.hpp"
#include "works/kind.hpp"

// Packing and shipments, as a packer with a scanner goes through them.

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::int64_t most_units = 300;

List cartons_of(Reader& reader, const std::string& order) {
  List list;
  for (const auto& cells : reader.connection().ask(
           "SELECT c.code, c.state, c.capacity, c.pallet, c.shipment, c.gross_kg, (SELECT "
           "CAST(coalesce(sum(h.quantity), 0) AS BIGINT) FROM holding h WHERE h.at = c.code), "
           "(SELECT CAST(coalesce(sum(h.quantity), 0) AS BIGINT) FROM holding h WHERE h.at = "
           "c.code AND h.place = 'suspect') FROM carton c WHERE c.\"order\" = $1 AND "
           "coalesce(c.void, 0) = 0 ORDER BY CASE c.state WHEN 'open' THEN 0 WHEN 'closed' THEN 1 "
           "ELSE 2 END, c.code LIMIT $2",
           {order, most_units})) {
    const std::string code = text(cells[0]);
    list.push_back(
        Object{{"code", code},
               {"state", text(cells[1])},
               {"capacity", whole(cells[2])},
               {"discs", whole(cells[6])},
               {"suspect", whole(cells[7])},
               {"pallet", or_null(text(cells[3]))},
               {"shipment", or_null(text(cells[4]))},
               {"gross_kg",
                ledger::is_null(cells[5]) ? json::Node{} : json::Node{std::get<double>(cells[5])}},
               {"sscc", or_null(line::sscc_of(reader, "carton", code))}});
  }
  return list;
}

List states_of(Reader& reader, const std::string& order) {
  List list;
  for (const auto& cells : reader.connection().ask(
           "SELECT state, count(*) FROM carton WHERE \"order\" = $1 AND coalesce(void, 0) = 0 "
           "GROUP BY state ORDER BY state",
           {order}))
    list.push_back(Object{{"state", text(cells[0])}, {"cartons", whole(cells[1])}});
  return list;
}

Answer packing(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row order = need(reader, "orders", code);
    const Row title = need(reader, "title", text(at(order, "title")));
    const OrderSum sum = board.standing.order(code);
    const auto in = [&](const char* place) {
      const auto found = sum.places.find(place);
      return found == sum.places.end() ? std::int64_t{0} : found->second;
    };
    out = {{"order", code},
           {"title", text(at(title, "code"))},
           {"name", text(at(title, "name"))},
           {"customer", cell(order, "customer")},
           {"quantity", sum.quantity},
           {"good", in("good stock")},
           {"packed", in("packed")},
           {"shipped", in("shipped")},
           {"suspect", in("suspect")},
           {"cartons", cartons_of(reader, code)},
           {"states", states_of(reader, code)},
           {"pallets", rows_node("pallet", reader.standing("pallet", "order", code))},
           {"shipments", rows_node("shipment", reader.standing("shipment", "order", code))},
           {"deliveries", rows_node("delivery", reader.standing("delivery", "order", code))},
           {"caution", works::caution(works::Station::packing)}};
  });
  return answer(out);
}

struct Next {
  const char* act;
  std::string words;
};

/// What a scan of this calls for. The count closes an open carton, a closed one is loaded, stock on a spindle is packed.
Next next_of(Reader& reader, std::string_view table, const Row& row) {
  const std::string state = text(at(row, "state")), code = text(at(row, "code"));
  if (table == "carton" || table == "pallet") {
    if (state == "open")
      return {"count", fmt::format("Count what is in {} and give the count", code)};
    if (state == "closed") return {"load", fmt::format("{} is closed: it may be loaded", code)};
    return {"look", fmt::format("{} has left", code)};
  }
  if (table == "shipment")
    return state == "gone" ? Next{"look", fmt::format("{} has left", code)}
                           : Next{"ship", fmt::format("Scan what goes with {}", code)};
  if (table == "spindle") {
    const std::int64_t good = ask_number(
        reader,
        "SELECT CAST(coalesce(sum(quantity), 0) AS BIGINT) FROM holding WHERE at = $1 AND place = "
        "'good stock'",
        {code});
    return good > 0 ? Next{"fill", fmt::format("{} good discs on {}: into cartons", good, code)}
                    : Next{"look", fmt::format("no good discs are on {}", code)};
  }
  if (table == "orders") return {"order", fmt::format("Order {} is packed now", code)};
  return {"look",
          fmt::format("{} {} is nothing that is packed", works::kind_of_table(table).name, code)};
}

/// The order that a spindle's good stock is of, where it is one.
std::string order_of(Reader& reader, std::string_view table, const Row& row) {
  if (table == "orders") return text(at(row, "code"));
  if (table != "spindle") return text(at(row, "order"));
  const auto runs = reader.connection().ask(
      "SELECT DISTINCT r.\"order\" FROM holding h JOIN run r ON r.code = h.run WHERE h.at = $1",
      {at(row, "code")});
  return runs.size() == 1 ? text(runs[0][0]) : std::string{};
}

Answer scan(Board& board, Asked& asked) {
  const std::string typed = asked.asked_for("q").value_or("");
  std::string plain = typed;  // scanners send the end of an element as the character GS
  std::erase(plain, '\x1d');
  if (plain.empty() || typed.size() > 80 || !line::fit_text(plain))
    throw Stop{400, "q: give what was scanned, at most 80 bytes"};
  Object out;
  board.read([&](Reader& reader) {
    std::string code = line::unit_by_sscc(reader, typed).value_or("");
    if (code.empty())
      if (const auto read = works::read_code(plain)) code = *read;
    const auto found = code.empty() ? std::nullopt : line::find_within(reader, code);
    if (!found || whole(at(found->row, "void")) != 0)
      throw Stop{404, fmt::format("nothing of this record carries \"{}\"", plain.substr(0, 40))};
    const std::string_view table = found->kind->table;
    const Next next = next_of(reader, table, found->row);
    out = {
        {"kind", std::string{found->kind->name}},
        {"code", code},
        {"order", or_null(order_of(reader, table, found->row))},
        {"state", or_null(text(at(found->row, "state")))},
        {"discs",
         ask_number(reader,
                    "SELECT CAST(coalesce(sum(quantity), 0) AS BIGINT) FROM holding WHERE at = $1",
                    {code})},
        {"capacity", cell(found->row, "capacity")},
        {"next", next.act},
        {"words", next.words}};
  });
  return answer(out);
}

/// A unit of the path as it was typed or scanned.
std::string unit_of(const line::Desk& desk, const std::string& typed) {
  return or_stop(line::unit_of(desk.record, typed));
}

Answer fill(Board& board, Asked& asked) {
  const std::string order = code_of(asked, "code");
  const Body body{asked};
  const line::Filling filling{.from = order,
                              .per_carton = count_in(body, "per_carton"),
                              .quantity = body.maybe_number("quantity"),
                              .spindle = code_in(body, "spindle"),
                              .part = body.has("part") && body.truth("part")};
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto filled = or_stop(line::fill_cartons(desk, filling));
    List cartons;
    for (const auto& one : filled.cartons)
      cartons.push_back(Object{{"code", one.code}, {"discs", one.discs}});
    out = entered_object("", filled.head);
    out.emplace_back("discs", filled.discs);
    out.emplace_back("left", filled.left);
    out.emplace_back("cartons", std::move(cartons));
  });
  return answer(out, 201);
}

Answer close(Board& board, Asked& asked) {
  const Body body{asked};
  line::Closing closing{.unit = {},
                        .counted = count_in(body, "counted"),
                        .part = body.has("part") && body.truth("part"),
                        .weighed_kg = body.maybe_real("weighed_kg"),
                        .lifting_limit_kg = {}};
  if (closing.weighed_kg && !(*closing.weighed_kg > 0.0 && *closing.weighed_kg < 1e4))
    throw Stop{422, "weighed_kg: give the gross mass of the carton in kg"};
  const auto rules = or_stop(line::dispatch_rules(board.place.folder));
  closing.lifting_limit_kg = rules.lifting_limit_kg;
  closing.company_prefix = rules.company_prefix;
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    closing.unit = unit_of(desk, asked.part("unit"));
    const auto closed = or_stop(line::close_unit(desk, closing));
    out = entered_object(closing.unit, closed.head);
    out.emplace_back("discs", closed.discs);
    out.emplace_back("cartons", closed.cartons);
    out.emplace_back("sscc", or_null(closed.sscc));
  });
  return answer(out, 201);
}

Answer open(Board& board, Asked& asked) {
  const Body body{asked};
  const std::string reason = body.text("reason");
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const std::string unit = unit_of(desk, asked.part("unit"));
    out = entered_object(unit, or_stop(line::open_unit(desk, unit, reason)));
  });
  return answer(out, 201);
}

Answer pull(Board& board, Asked& asked) {
  const std::string order = code_of(asked, "code");
  const Body body{asked};
  const line::SuspectPull wanted{.from = order, .to_spindle = code_in(body, "to_spindle")};
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto pulled = or_stop(line::pull_suspects(desk, wanted));
    List cartons;
    for (const auto& one : pulled.cartons)
      cartons.push_back(
          Object{{"code", one.code}, {"out", one.out}, {"left", one.left}, {"opened", one.opened}});
    out = entered_object("", pulled.head);
    out.emplace_back("discs", pulled.discs);
    out.emplace_back("cartons", std::move(cartons));
  });
  return answer(out, 201);
}

Answer stack(Board& board, Asked& asked) {
  const std::string order = code_of(asked, "code");
  const Body body{asked};
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    std::vector<std::string> cartons;
    for (const std::string& one : codes_in(body, "cartons")) cartons.push_back(unit_of(desk, one));
    const auto entered = or_stop(line::stack_pallet(desk, order, cartons));
    out = entered_object(entered.code, entered.head);
  });
  return answer(out, 201);
}

Answer ship(Board& board, Asked& asked) {
  const std::string shipment = code_of(asked, "code");
  const Body body{asked};
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    std::vector<std::string> units;
    for (const std::string& one : codes_in(body, "units")) units.push_back(unit_of(desk, one));
    const auto moved = or_stop(line::ship(desk, shipment, units));
    out = entered_object(shipment, moved.head);
    out.emplace_back("discs", moved.discs);
  });
  return answer(out, 201);
}

}  // namespace

std::vector<Route> pack_routes(Board& board) {
  return {{.method = "GET",
           .path = "/api/orders/{code}/packing",
           .run = [&](Asked& asked) { return packing(board, code_of(asked, "code")); }},
          {.method = "GET",
           .path = "/api/scan",
           .run = [&](Asked& asked) { return scan(board, asked); }},
          {.method = "POST",
           .path = "/api/orders/{code}/cartons",
           .roles = who_enters(),
           .run = [&](Asked& asked) { return fill(board, asked); }},
          {.method = "POST",
           .path = "/api/units/{unit}/close",
           .roles = who_enters(),
           .run = [&](Asked& asked) { return close(board, asked); }},
          {.method = "POST",
           .path = "/api/units/{unit}/open",
           .roles = who_enters(),
           .run = [&](Asked& asked) { return open(board, asked); }},
          {.method = "POST",
           .path = "/api/orders/{code}/pull",
           .roles = who_enters(),
           .run = [&](Asked& asked) { return pull(board, asked); }},
          {.method = "POST",
           .path = "/api/orders/{code}/pallets",
           .roles = who_enters(),
           .run = [&](Asked& asked) { return stack(board, asked); }},
          {.method = "POST",
           .path = "/api/shipments/{code}/ship",
           .roles = who_enters(),
           .run = [&](Asked& asked) { return ship(board, asked); }}};
}

}  // namespace goodside::serve
