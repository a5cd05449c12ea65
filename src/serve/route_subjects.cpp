#include <fmt/format.h>

#include <algorithm>

#include "line/origin.hpp"
#include "line/record_nodes.hpp"
#include "serve/board.hpp"
#include "serve/heard_node.hpp"
#include "serve/nodes.hpp"
#include "serve/order_node.hpp"
#include "works/code.hpp"
#include "works/kind.hpp"

// The subject pages: title, order, part, run, disc, and anything else by its code.

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::size_t most_rows = 100, most_named = 30, most_stock = 200, most_places = 500;

std::int64_t page_from(const Asked& asked) {
  const auto after = asked.asked_for("after");
  if (!after) return 0;
  const auto from = whole_number(*after);
  if (!from) throw Stop{400, "after: give the `next` of the page before"};
  return *from;
}

json::Node next_page(std::int64_t from, std::size_t got, std::int64_t limit) {
  return got < static_cast<std::size_t>(limit) ? json::Node{}
                                               : json::Node{fmt::format("{}", from + limit)};
}

Answer titles(Board& board, Asked& asked) {
  const std::int64_t limit = asked.number("limit", 1, 200, 50), from = page_from(asked);
  List list;
  board.read([&](Reader& reader) {
    for (const auto& cells : reader.connection().ask(
             "SELECT code FROM title WHERE coalesce(void, 0) = 0 ORDER BY at_ms DESC, code DESC "
             "LIMIT $1 OFFSET $2",
             {limit, from})) {
      const Row row = *reader.find("title", cells[0]);
      list.push_back(Object{{"code", text(at(row, "code"))},
                            {"name", text(at(row, "name"))},
                            {"artist", cell(row, "artist")},
                            {"catalogue", cell(row, "catalogue")}});
    }
  });
  const auto next = next_page(from, list.size(), limit);
  return answer(Object{{"titles", std::move(list)}, {"next", next}});
}

Answer title(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "title", code);
    List sides, orders;
    for (const Row& side : reader.standing("side", "title", code))
      sides.push_back(side_node(reader, board.standing.side(text(at(side, "code")))));
    for (const Row& order : reader.standing("orders", "title", code))
      if (orders.size() < most_rows)
        orders.push_back(
            order_node(reader, board.standing.order(text(at(order, "code"))), now_ms()));
    auto runs = reader.standing("run", "title", code);
    const auto run_count = static_cast<std::int64_t>(runs.size());
    out = {{"title", row_node("title", row)},
           {"sides", std::move(sides)},
           {"orders", std::move(orders)},
           {"runs", runs_node(reader, board.standing, std::move(runs), most_rows)},
           {"run_count", run_count}};
  });
  return answer(out);
}

Answer order(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "orders", code);
    auto runs = reader.standing("run", "order", code);
    const auto run_count = static_cast<std::int64_t>(runs.size());
    out = {{"order", row_node("orders", row)},
           {"standing", order_node(reader, board.standing.order(code), now_ms())},
           {"approvals", rows_node("approval", reader.standing("approval", "order", code))},
           {"runs", runs_node(reader, board.standing, std::move(runs), most_rows)},
           {"run_count", run_count}};
  });
  return answer(out);
}

std::int64_t closings(Reader& reader, const Row& mounting) {
  return whole(reader.connection()
                   .ask("SELECT CAST(coalesce(sum(\"last\" - \"first\" + 1), 0) AS BIGINT) FROM "
                        "pressing WHERE mounting = $1 AND coalesce(void, 0) = 0",
                        {at(mounting, "code")})
                   .at(0)
                   .at(0));
}

std::vector<Row> ancestors(Reader& reader, const Row& part) {
  std::vector<Row> line;
  Row now = part;
  while (!ledger::is_null(at(now, "parent")) && line.size() < most_named) {
    auto parent = reader.find("part", at(now, "parent"));
    if (!parent) break;
    now = *parent;
    line.push_back(std::move(*parent));
  }
  return line;
}

json::Node steps_node(Reader& reader, const std::string& part) {
  List list;
  for (const Row& step : reader.standing("step", "part", part))
    list.push_back(
        Object{{"step", row_node("step", step)},
               {"readings",
                rows_node("reading", reader.standing("reading", "step", text(at(step, "code"))))}});
  return list;
}

Answer part(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "part", code);
    List mountings;
    std::int64_t all = 0;
    for (const char* column : {"stamper_a", "stamper_b"})
      for (const Row& mounting : reader.standing("mounting", column, code)) {
        const std::int64_t made = closings(reader, mounting);
        all += made;
        mountings.push_back(
            Object{{"mounting", row_node("mounting", mounting)}, {"closings", made}});
      }
    const HeardSum heard = board.standing.stamper(code);
    out = {{"part", row_node("part", row)},
           {"ancestors", rows_node("part", ancestors(reader, row))},
           {"children", rows_node("part", reader.standing("part", "parent", code))},
           {"steps", steps_node(reader, code)},
           {"mountings", std::move(mountings)},
           {"closings", all},
           {"heard", heard.plays > 0 ? stamper_node(heard, all) : json::Node{}}};
  });
  return answer(out);
}

/// Quarantines that moved discs of this run and were not taken back.
json::Node holds_node(Reader& reader, const std::string& run) {
  List list;
  reader.connection().each(
      "SELECT seq, at_ms, who, what FROM event WHERE seq IN (SELECT event FROM movement WHERE run "
      "= "
      "$1 AND to_place = 'suspect' AND reverses IS NULL AND id NOT IN (SELECT reverses FROM "
      "movement "
      "WHERE run = $1 AND reverses IS NOT NULL)) ORDER BY seq DESC LIMIT 200",
      {run},
      [&](const ledger::Values& row) {
        const std::string what = text(row[3]);
        if (what == "hold" || what.starts_with("quarantine"))
          list.push_back(Object{{"entry", whole(row[0])},
                                {"at_ms", whole(row[1])},
                                {"who", text(row[2])},
                                {"what", what}});
      });
  return list;
}

Answer run(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "run", code);
    auto tickets = reader.standing("ticket", "run", code);
    const auto ticket_count = static_cast<std::int64_t>(tickets.size());
    std::ranges::reverse(tickets);
    if (tickets.size() > most_rows) tickets.resize(most_rows);
    List stock;
    for (const works::Holding& holding : reader.holdings(code))
      if (stock.size() < most_stock) stock.push_back(line::as_node(holding));
    std::int64_t made = 0;
    const auto places = places_of_run(reader, code, made);
    const auto press =
        ledger::is_null(at(row, "press")) ? std::nullopt : reader.find("press", at(row, "press"));
    out = {{"run", row_node("run", row)},
           {"order", row_node("orders", need(reader, "orders", text(at(row, "order"))))},
           {"title", row_node("title", need(reader, "title", text(at(row, "title"))))},
           {"press", row_or_null("press", press)},
           {"impressions", made},
           {"counts", counts_node(places)},
           {"heard", tickets_node(board.standing.tickets_of_run(code))},
           {"pressings", rows_node("pressing", reader.standing("pressing", "run", code))},
           {"tickets", rows_node("ticket", tickets)},
           {"ticket_count", ticket_count},
           {"stock", std::move(stock)},
           {"holds", holds_node(reader, code)}};
  });
  return answer(out);
}

Answer disc(Board& board, const std::string& run, std::int64_t impression) {
  Object out;
  board.read([&](Reader& reader) {
    const line::Origin origin = line::origin_within(reader, run, impression);
    List plays, now;
    for (const Row& ticket : origin.tickets)
      for (const Play& play : board.standing.plays_of_ticket(text(at(ticket, "code"))))
        plays.push_back(play_node(play));
    for (const works::Holding& holding : origin.now) now.push_back(line::as_node(holding));
    out = {{"impression", origin.impression},
           {"title_impression", or_null(origin.of_title)},
           {"run", row_node("run", origin.run)},
           {"order", row_node("orders", origin.order)},
           {"title", row_node("title", origin.title)},
           {"pressing", row_node("pressing", origin.pressing)},
           {"mounting", row_or_null("mounting", origin.mounting)},
           {"press", row_or_null("press", origin.press)},
           {"recipe", row_or_null("recipe", origin.recipe)},
           {"batch", row_or_null("batch", origin.batch)},
           {"lots", rows_node("weighing", origin.lots)},
           {"side_a", rows_node("part", origin.side_a)},
           {"side_b", rows_node("part", origin.side_b)},
           {"age_a", origin.age_a},
           {"age_b", origin.age_b},
           {"tickets", rows_node("ticket", origin.tickets)},
           {"plays", std::move(plays)},
           {"now", std::move(now)}};
  });
  return answer(out);
}

Answer thing(Board& board, const std::string& code) {
  Object out;
  board.read([&](Reader& reader) {
    const auto found = line::find_within(reader, code);
    if (!found) throw Stop{404, fmt::format("the record holds nothing called {}", code)};
    List named_by;
    for (const works::Kind& kind : works::kinds())
      for (const works::Field& field : kind.fields) {
        if (field.refers_to != found->kind->table) continue;
        const auto count =
            whole(reader.connection()
                      .ask(fmt::format("SELECT count(*) FROM {} WHERE \"{}\" = $1 AND "
                                       "coalesce(void, 0) = 0",
                                       kind.table,
                                       field.name),
                           {code})
                      .at(0)
                      .at(0));
        if (count == 0) continue;
        std::vector<Row> rows;
        for (const auto& cells : reader.connection().ask(
                 fmt::format("SELECT code FROM {} WHERE \"{}\" = $1 AND coalesce(void, 0) = 0 "
                             "ORDER BY code DESC LIMIT {}",
                             kind.table,
                             field.name,
                             most_named),
                 {code}))
          rows.push_back(*reader.find(kind.table, cells[0]));
        named_by.push_back(Object{{"kind", std::string{kind.name}},
                                  {"field", std::string{field.name}},
                                  {"count", count},
                                  {"rows", rows_node(kind.table, rows)}});
      }
    out = {{"kind", std::string{found->kind->name}},
           {"row", row_node(found->kind->table, found->row)},
           {"named_by", std::move(named_by)}};
  });
  return answer(out);
}

Answer where(Board& board, const std::string& code) {
  line::Whereabouts found;
  board.read([&](Reader& reader) { found = line::whereabouts_within(reader, code); });
  std::map<std::string, std::int64_t> places;
  List stock;
  for (const line::Stock& one : found.stock) {
    places[std::string{word(one.holding.spot.place)}] += one.holding.quantity;
    if (stock.size() >= most_places) continue;
    json::Node node = line::as_node(one.holding);
    auto& object = std::get<Object>(node.value);
    object.emplace_back("run", one.run);
    object.emplace_back("sure", one.sure);
    stock.push_back(std::move(node));
  }
  Object totals;
  for (const auto& [place, quantity] : places) totals.emplace_back(place, quantity);
  return answer(Object{{"of", code},
                       {"impressions", found.impressions},
                       {"places", std::move(totals)},
                       {"stock", std::move(stock)}});
}

Answer events(Board& board, Asked& asked) {
  const std::int64_t limit = asked.number("limit", 1, 200, 50);
  const std::int64_t before = page_from(asked);
  List list;
  board.read([&](Reader& reader) {
    std::string subject = asked.asked_for("subject").value_or("");
    for (const ledger::Event& event :
         ledger::newest_events(reader.connection(), subject, limit, before))
      list.push_back(Object{{"seq", event.seq},
                            {"at_ms", event.at_ms},
                            {"who", event.who},
                            {"what", event.what},
                            {"subject", event.subject},
                            {"reverses", or_null(event.reverses)},
                            {"hash", event.hash}});
  });
  json::Node next;
  if (list.size() == static_cast<std::size_t>(limit))
    next = fmt::format("{}", std::get<std::int64_t>(list.back().find("seq")->value));
  return answer(Object{{"events", std::move(list)}, {"next", next}});
}

}  // namespace

std::vector<Route> subject_routes(Board& board) {
  const auto by_code = [&board](const char* path, Answer (*run)(Board&, const std::string&)) {
    return Route{.method = "GET", .path = path, .run = [&board, run](Asked& asked) {
                   return run(board, code_of(asked, "code"));
                 }};
  };
  return {
      {.method = "GET",
       .path = "/api/titles",
       .run = [&](Asked& asked) { return titles(board, asked); }},
      by_code("/api/titles/{code}", title),
      by_code("/api/orders/{code}", order),
      by_code("/api/parts/{code}", part),
      by_code("/api/runs/{code}", run),
      by_code("/api/things/{code}", thing),
      by_code("/api/where/{code}", where),
      {.method = "GET",
       .path = "/api/discs/{run}/{impression}",
       .run =
           [&](Asked& asked) {
             const auto impression = whole_number(asked.part("impression"));
             if (!impression) throw Stop{400, "impression: give a whole number from 1 up"};
             return disc(board, code_of(asked, "run"), *impression);
           }},
      {.method = "GET",
       .path = "/api/events",
       .run = [&](Asked& asked) { return events(board, asked); }},
  };
}

}  // namespace goodside::serve
