#include <fmt/format.h>

#include <algorithm>

#include "line/press_discs.hpp"
#include "line/sample_tickets.hpp"
#include "serve/by_hand.hpp"
#include "works/caution.hpp"

// What is on the presses now, and what is entered there: mountings, counts, samples.

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::size_t most_runs = 4, most_ready = 200;

struct Counted {
  std::int64_t closings{}, counter{};
};

Counted counted(Reader& reader, const Row& mounting) {
  const auto row = reader.connection()
                       .ask(
                           "SELECT CAST(coalesce(sum(\"last\" - \"first\" + 1), 0) AS BIGINT), "
                           "max(counter_to) FROM pressing WHERE mounting = $1 AND coalesce(void, "
                           "0) = 0",
                           {at(mounting, "code")})
                       .at(0);
  const std::int64_t from = whole(at(mounting, "counter_from"));
  return {whole(row[0]), std::max(whole(row[1]), from + whole(row[0]))};
}

/// What is on the press now; nothing where it stands empty.
std::optional<Row> open_mounting(Reader& reader, const ledger::Value& press) {
  const auto codes = reader.connection().ask(
      "SELECT code FROM mounting WHERE press = $1 AND ended_ms IS NULL AND coalesce(void, 0) = 0",
      {press});
  return codes.empty() ? std::nullopt : reader.find("mounting", codes[0][0]);
}

json::Node mounting_node(Reader& reader, const std::string& press) {
  const auto row = open_mounting(reader, press);
  if (!row) return {};
  const Counted now = counted(reader, *row);
  return Object{{"code", text(at(*row, "code"))},
                {"stamper_a", cell(*row, "stamper_a")},
                {"stamper_b", cell(*row, "stamper_b")},
                {"counter_from", whole(at(*row, "counter_from"))},
                {"counter", now.counter},
                {"closings", now.closings},
                {"begun_ms", cell(*row, "begun_ms")},
                {"reason", cell(*row, "reason")}};
}

std::int64_t impressions_of(Reader& reader, const std::string& run) {
  return ask_number(
      reader, "SELECT max(\"last\") FROM pressing WHERE run = $1 AND coalesce(void, 0) = 0", {run});
}

/// What the run was pressed from last; before its first disc the newest batch of the material that its order asks for.
json::Node batch_for(Reader& reader, const std::string& run, const std::string& order) {
  const auto first = [&](const char* sql, const std::string& of) {
    const auto rows = reader.connection().ask(sql, {of});
    return rows.empty() ? json::Node{} : json::Node{text(rows[0][0])};
  };
  json::Node last = first(
      "SELECT batch FROM pressing WHERE run = $1 AND batch IS NOT NULL AND coalesce(void, 0) = 0 "
      "ORDER BY \"last\" DESC LIMIT 1",
      run);
  if (!std::holds_alternative<std::monostate>(last.value)) return last;
  return first(
      "SELECT b.code FROM batch b JOIN orders o ON o.material = b.material WHERE o.code = $1 AND "
      "coalesce(b.void, 0) = 0 ORDER BY b.at_ms DESC, b.code DESC LIMIT 1",
      order);
}

/// Runs of this press whose order is not all shipped, the newest first.
List runs_on(Board& board, Reader& reader, const std::string& press) {
  List list;
  for (const auto& cells : reader.connection().ask(
           "SELECT code FROM run WHERE press = $1 AND coalesce(void, 0) = 0 ORDER BY at_ms DESC, "
           "code DESC LIMIT 12",
           {press})) {
    const Row run = *reader.find("run", cells[0]);
    const OrderSum order = board.standing.order(text(at(run, "order")));
    const auto shipped = order.places.find("shipped");
    if (shipped != order.places.end() && shipped->second >= order.quantity) continue;
    const Row title = need(reader, "title", text(at(run, "title")));
    const std::string code = text(at(run, "code"));
    const std::int64_t made = impressions_of(reader, code);
    list.push_back(Object{{"code", code},
                          {"order", order.code},
                          {"title", text(at(title, "code"))},
                          {"name", text(at(title, "name"))},
                          {"purpose", text(at(run, "purpose"))},
                          {"quantity", order.quantity},
                          {"done", order.made},
                          {"impressions", made},
                          {"batch", batch_for(reader, code, order.code)}});
    if (list.size() == most_runs) break;
  }
  return list;
}

/// Stampers, and fathers that press, which could go on a press now.
List ready_parts(Reader& reader) {
  List list;
  for (const auto& cells : reader.connection().ask(
           "SELECT p.code, s.letter, s.title, t.name, p.state FROM part p JOIN side s ON s.code = "
           "p.side JOIN title t ON t.code = s.title WHERE p.presses = 1 AND p.state IN ('ready', "
           "'resting') AND coalesce(p.void, 0) = 0 ORDER BY p.at_ms DESC, p.code DESC LIMIT $1",
           {static_cast<std::int64_t>(most_ready)}))
    list.push_back(Object{{"code", text(cells[0])},
                          {"letter", text(cells[1])},
                          {"title", text(cells[2])},
                          {"name", text(cells[3])},
                          {"state", text(cells[4])}});
  return list;
}

List newest(Reader& reader, const char* sql) {
  List list;
  for (const auto& cells : reader.connection().ask(sql))
    list.push_back(Object{{"code", text(cells[0])}, {"words", text(cells[1])}});
  return list;
}

Answer presses(Board& board) {
  Object out;
  board.read([&](Reader& reader) {
    List list;
    for (const Row& press : reader.named_or_all("press", "")) {
      const std::string code = text(at(press, "code"));
      list.push_back(Object{{"code", code},
                            {"name", text(at(press, "name"))},
                            {"mounting", mounting_node(reader, code)},
                            {"runs", runs_on(board, reader, code)}});
    }
    out = {{"presses", std::move(list)},
           {"ready", ready_parts(reader)},
           {"batches",
            newest(reader,
                   "SELECT code, material FROM batch WHERE coalesce(void, 0) = 0 ORDER BY at_ms "
                   "DESC, code DESC LIMIT 12")},
           {"spindles",
            newest(reader,
                   "SELECT code, name FROM spindle WHERE coalesce(void, 0) = 0 ORDER BY code "
                   "LIMIT 100")},
           {"caution", works::caution(works::Station::press)}};
  });
  return answer(out);
}

Answer mount(Board& board, Asked& asked) {
  const std::string press = code_of(asked, "code");
  const Body body{asked};
  const line::Mount wanted{.press = press,
                           .stamper_a = code_in(body, "a"),
                           .stamper_b = code_in(body, "b"),
                           .counter = count_in(body, "counter"),
                           .reason = body.text_or("reason", "")};
  if (const auto fit = line::fit_text(wanted.reason); !fit) throw Stop{422, fit.error().text};
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto entered = or_stop(line::mount(desk, wanted));
    out = entered_object(entered.code, entered.head);
  });
  return answer(out, 201);
}

Answer unmount(Board& board, Asked& asked) {
  const std::string mounting = code_of(asked, "code");
  const Body body{asked};
  const line::Unmount wanted{.mounting = mounting,
                             .counter = count_in(body, "counter"),
                             .reason = body.text_or("reason", "")};
  if (const auto fit = line::fit_text(wanted.reason); !fit) throw Stop{422, fit.error().text};
  json::Node out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto entered = or_stop(line::unmount(desk, wanted));
    out = entered_object(entered.code, entered.head);
  });
  return answer(out, 201);
}

line::Purpose purpose_in(const Body& body) {
  const std::string word = body.text_or("purpose", "run");
  if (word == "run") return line::Purpose::run;
  if (word == "warm up") return line::Purpose::warm_up;
  if (word == "purge") return line::Purpose::purge;
  throw Stop{422, "purpose: give run, warm up or purge"};
}

/// What a counter reading alone says: the closings since the last one entered, and the impression that comes next. Two
/// stations that read the same counter cannot both have them.
struct SinceLast {
  std::int64_t closings{}, next{};
};
SinceLast since_last(Board& board, const std::string& run, std::int64_t counter) {
  std::optional<std::int64_t> before;
  SinceLast since;
  board.read([&](Reader& reader) {
    const Row row = need(reader, "run", run);
    if (const auto mounting = open_mounting(reader, at(row, "press")))
      before = counted(reader, *mounting).counter;
    since.next = impressions_of(reader, run) + 1;
  });
  if (!before) throw Stop{409, fmt::format("nothing is mounted on the press of {}", run)};
  if (counter <= *before)
    throw Stop{
        422,
        fmt::format(
            "the counter reads {}, and {} was entered before; look at it again", counter, *before)};
  since.closings = counter - *before;
  return since;
}

Answer press(Board& board, Asked& asked) {
  const std::string run = code_of(asked, "code");
  const Body body{asked};
  const auto counter = body.maybe_number("counter");
  line::Pressing wanted{.run = run,
                        .from_impression = body.maybe_number("from_impression"),
                        .purpose = purpose_in(body),
                        .counter = counter,
                        .batch = code_in(body, "batch"),
                        .recipe = code_in(body, "recipe"),
                        .spindle = code_in(body, "spindle")};
  if (counter && !body.has("quantity")) {
    const SinceLast since = since_last(board, run, *counter);
    wanted.quantity = since.closings;
    if (!wanted.from_impression) wanted.from_impression = since.next;
  } else {
    wanted.quantity = count_in(body, "quantity");
  }
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto pressed = or_stop(line::press_discs(desk, wanted));
    out = entered_object(pressed.entered.code, pressed.entered.head);
    out.emplace_back("impressions", range_node(pressed.first, pressed.last));
  });
  return answer(out, 201);
}

Answer ticket(Board& board, Asked& asked) {
  const std::string run = code_of(asked, "code");
  const Body body{asked};
  line::Pull pull{.run = run,
                  .counter = body.maybe_number("counter"),
                  .spindle = code_in(body, "spindle"),
                  .reason = body.text("reason"),
                  .name = body.text_or("name", "")};
  if (const auto which = range_in(body, "impressions")) {
    pull.first = which->first;
    pull.last = which->last;
  }
  if (!pull.first && !pull.counter)
    board.read([&](Reader& reader) {
      static_cast<void>(need(reader, "run", run));
      pull.first = pull.last = impressions_of(reader, run);
    });
  for (const std::string& words : {pull.reason, pull.name})
    if (const auto fit = line::fit_text(words); !fit) throw Stop{422, fit.error().text};
  Object out;
  board.records.at_desk(asked.session.name, [&](const line::Desk& desk) {
    const auto pulled = or_stop(line::pull_sample(desk, pull));
    out = entered_object(pulled.entered.code, pulled.entered.head);
    out.emplace_back("impressions", range_node(pulled.first, pulled.last));
    out.emplace_back("held", pulled.held);
  });
  return answer(out, 201);
}

}  // namespace

std::vector<Route> press_routes(Board& board) {
  return {{.method = "GET", .path = "/api/presses", .run = [&](Asked&) { return presses(board); }},
          {.method = "POST",
           .path = "/api/presses/{code}/mount",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return mount(board, asked); }},
          {.method = "POST",
           .path = "/api/mountings/{code}/end",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return unmount(board, asked); }},
          {.method = "POST",
           .path = "/api/runs/{code}/pressings",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return press(board, asked); }},
          {.method = "POST",
           .path = "/api/runs/{code}/tickets",
           .roles = at_stations(),
           .run = [&](Asked& asked) { return ticket(board, asked); }}};
}

}  // namespace goodside::serve
