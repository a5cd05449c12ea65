#include "serve/standing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "serve/standing_rows.hpp"

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Change;
using ledger::Reader;
using ledger::Row;
using ledger::stands;
using ledger::text;
using ledger::Value;
using ledger::Values;
using ledger::whole;

constexpr std::int64_t version = 1;
constexpr std::int64_t entries_at_once = 200;

constexpr std::string_view tables = R"(
CREATE TABLE IF NOT EXISTS followed (
  id INTEGER PRIMARY KEY NOT NULL, version INTEGER NOT NULL, seq INTEGER NOT NULL, hash TEXT NOT NULL
) STRICT;
CREATE TABLE IF NOT EXISTS play (
  report TEXT PRIMARY KEY NOT NULL, capture TEXT NOT NULL, ticket TEXT NOT NULL, run TEXT NOT NULL,
  title TEXT NOT NULL, side TEXT NOT NULL, letter TEXT NOT NULL, stamper TEXT NOT NULL,
  mounting TEXT NOT NULL, "first" INTEGER NOT NULL, "last" INTEGER NOT NULL, title_first INTEGER,
  play INTEGER NOT NULL, after TEXT NOT NULL, pass INTEGER NOT NULL, plain INTEGER NOT NULL,
  slight INTEGER NOT NULL, eccentricity_m REAL, weighted_noise_dB REAL, limits TEXT NOT NULL,
  at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX IF NOT EXISTS play_stamper ON play (side, stamper, "first", report);
CREATE INDEX IF NOT EXISTS play_newest ON play (side, at_ms, report);
CREATE INDEX IF NOT EXISTS play_ticket ON play (ticket);
CREATE INDEX IF NOT EXISTS play_verdict ON play (side, pass);
CREATE TABLE IF NOT EXISTS heard (
  side TEXT NOT NULL, stamper TEXT NOT NULL, plays INTEGER NOT NULL, passed INTEGER NOT NULL,
  plain INTEGER NOT NULL, slight INTEGER NOT NULL, last_ms INTEGER, PRIMARY KEY (side, stamper)
) STRICT;
CREATE INDEX IF NOT EXISTS heard_stamper ON heard (stamper);
CREATE TABLE IF NOT EXISTS side (
  code TEXT PRIMARY KEY NOT NULL, plays INTEGER NOT NULL, passed INTEGER NOT NULL, last_ms INTEGER
) STRICT;
CREATE INDEX IF NOT EXISTS side_last ON side (last_ms, code);
CREATE TABLE IF NOT EXISTS ticket (
  code TEXT PRIMARY KEY NOT NULL, run TEXT NOT NULL, "order" TEXT NOT NULL, heard TEXT NOT NULL,
  at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX IF NOT EXISTS ticket_run ON ticket (run, heard);
CREATE INDEX IF NOT EXISTS ticket_heard ON ticket (heard, at_ms);
CREATE TABLE IF NOT EXISTS tickets (
  "order" TEXT NOT NULL, heard TEXT NOT NULL, quantity INTEGER NOT NULL, PRIMARY KEY ("order", heard)
) STRICT;
CREATE TABLE IF NOT EXISTS orders (
  code TEXT PRIMARY KEY NOT NULL, title TEXT NOT NULL, quantity INTEGER NOT NULL, due_ms INTEGER,
  open INTEGER NOT NULL
) STRICT;
CREATE INDEX IF NOT EXISTS orders_open ON orders (open, due_ms);
CREATE TABLE IF NOT EXISTS place (
  "order" TEXT NOT NULL, place TEXT NOT NULL, quantity INTEGER NOT NULL, PRIMARY KEY ("order", place)
) STRICT;
CREATE TABLE IF NOT EXISTS title (code TEXT PRIMARY KEY NOT NULL, seq INTEGER NOT NULL) STRICT;
)";

constexpr std::string_view all_tables[] = {
    "followed", "play", "heard", "side", "ticket", "tickets", "orders", "place", "title"};

/// Every report with what made its disc; of a run's pressings the one that the disc lies in.
constexpr std::string_view play_question = R"(
SELECT r.code, r.capture, c.ticket, t.run, u.title, s.code, c.letter, m.code, m.stamper_a,
  m.stamper_b, t."first", t."last", p.title_first, p."first", c.play, c."after", r.pass, r.plain,
  r.slight, r."eccentricity_m", r."weighted_noise_dB", r.limits, r.at_ms
FROM report r JOIN capture c ON c.code = r.capture JOIN ticket t ON t.code = c.ticket
  JOIN run u ON u.code = t.run
  LEFT JOIN side s ON s.title = u.title AND s.letter = c.letter AND coalesce(s.void, 0) = 0
  LEFT JOIN pressing p ON p.run = t.run AND p."first" <= t."first" AND p."last" >= t."first"
    AND coalesce(p.void, 0) = 0
  LEFT JOIN mounting m ON m.code = coalesce(t.mounting, p.mounting)
WHERE coalesce(r.void, 0) = 0 AND coalesce(c.void, 0) = 0 AND coalesce(t.void, 0) = 0)";

Value or_null(const std::optional<double>& value) {
  return value ? Value{*value} : Value{};
}
Value or_null(const std::optional<std::int64_t>& value) {
  return value ? Value{*value} : Value{};
}

Play play_from_record(const Values& row) {
  Play play{.report = text(row[0]),
            .capture = text(row[1]),
            .ticket = text(row[2]),
            .run = text(row[3]),
            .title = text(row[4]),
            .side = text(row[5]),
            .letter = text(row[6]),
            .stamper = {},
            .mounting = text(row[7]),
            .first = whole(row[10]),
            .last = whole(row[11]),
            .play = whole(row[14], 1),
            .pass = whole(row[16]),
            .plain = whole(row[17]),
            .slight = whole(row[18]),
            .at_ms = whole(row[22]),
            .after = ledger::is_null(row[15]) ? "as found" : text(row[15]),
            .limits = text(row[21]),
            .eccentricity_m = real(row[19]),
            .weighted_noise_dB = real(row[20])};
  const bool second = !play.letter.empty() && (play.letter.front() - 'A') % 2 == 1;
  play.stamper = text(row[second ? 9 : 8]);
  if (const auto title_first = maybe(row[12]))
    play.title_first = *title_first + play.first - whole(row[13]);
  return play;
}

}  // namespace

Result<std::unique_ptr<Standing>> Standing::open(const std::string& path) {
  auto connection = ledger::connect(path, true);
  if (!connection) return connection.error();
  try {
    (*connection)->script(tables);
    // It can be made anew at any time: nothing here has to outlive a power cut.
    (*connection)->script("PRAGMA synchronous=OFF");
  } catch (const ledger::StoreFailure& failure) {
    return Error{Fault::io, path + ": " + failure.what()};
  }
  return std::unique_ptr<Standing>{new Standing{std::move(*connection)}};
}

void Standing::begin(Reader& reader, const std::function<void(std::int64_t)>& told) {
  bring(reader, true, told);
}

void Standing::follow(Reader& reader) {
  bring(reader, false, {});
}

void Standing::bring(Reader& reader, bool alone, const std::function<void(std::int64_t)>& told) {
  const ledger::Head head = ledger::head_of(reader.connection());
  const std::lock_guard lock{guard_};
  const auto rows = connection_->ask("SELECT version, seq, hash FROM followed");
  const bool begun = rows.size() == 1 && whole(rows[0][0]) == version;
  const ledger::Head here =
      begun ? ledger::Head{whole(rows[0][1]), text(rows[0][2])} : ledger::Head{};
  if (begun && (here == head || (here.seq > head.seq && !alone))) return;
  connection_->begin_write();
  try {
    const auto known =
        begun ? ledger::event_of(reader.connection(), here.seq) : std::optional<ledger::Event>{};
    if (!begun || (here.seq > 0 && (!known || known->hash != here.hash)))
      make_anew(reader, told);
    else
      take_entries(reader, here.seq + 1, head.seq);
    connection_->run(
        "INSERT INTO followed (id, version, seq, hash) VALUES (1, $1, $2, $3) ON CONFLICT (id) DO "
        "UPDATE SET version = excluded.version, seq = excluded.seq, hash = excluded.hash",
        {version, head.seq, head.hash});
    connection_->commit();
  } catch (...) {
    connection_->roll_back();
    throw;
  }
}

void Standing::take_entries(Reader& reader, std::int64_t next, std::int64_t last) {
  while (next <= last) {
    const auto events = ledger::events_from(reader.connection(), next, entries_at_once);
    if (events.empty()) return;
    for (const ledger::Event& event : events)
      for (const Change& change : ledger::read_body(event.body))
        take_change(reader, change, event.seq);
    next = events.back().seq + 1;
  }
}

void Standing::make_anew(Reader& reader, const std::function<void(std::int64_t)>& told) {
  for (const std::string_view table : all_tables)
    connection_->run(fmt::format("DELETE FROM {}", table));
  auto& record = reader.connection();
  record.each("SELECT code FROM side WHERE coalesce(void, 0) = 0", {}, [&](const Values& row) {
    connection_->run("INSERT INTO side (code, plays, passed) VALUES ($1, 0, 0)", {row[0]});
  });
  record.each(
      "SELECT t.code, t.run, u.\"order\", t.heard, t.at_ms FROM ticket t JOIN run u ON u.code = "
      "t.run "
      "WHERE coalesce(t.void, 0) = 0",
      {},
      [&](const Values& row) {
        connection_->run(
            "INSERT INTO ticket (code, run, \"order\", heard, at_ms) VALUES ($1, $2, $3, $4, $5)",
            {row[0], row[1], row[2], ledger::is_null(row[3]) ? Value{"waiting"} : row[3], row[4]});
      });
  connection_->run(
      "INSERT INTO tickets SELECT \"order\", heard, count(*) FROM ticket GROUP BY 1, 2");
  record.each(
      "SELECT u.\"order\", h.place, CAST(sum(h.quantity) AS BIGINT) FROM holding h JOIN run u ON "
      "u.code = h.run GROUP BY 1, 2",
      {},
      [&](const Values& row) {
        connection_->run("INSERT INTO place (\"order\", place, quantity) VALUES ($1, $2, $3)",
                         {row[0], row[1], row[2]});
      });
  // The press holds minus the impressions made; no table keeps it.
  connection_->run(
      "INSERT INTO place (\"order\", place, quantity) SELECT \"order\", 'press', -sum(quantity) "
      "FROM "
      "place WHERE place <> 'press' GROUP BY 1 ON CONFLICT (\"order\", place) DO UPDATE SET "
      "quantity "
      "= excluded.quantity");
  std::vector<std::string> orders;
  record.each(
      "SELECT code FROM orders", {}, [&](const Values& row) { orders.push_back(text(row[0])); });
  for (const std::string& order : orders) refresh_order(reader, order);
  std::int64_t plays = 0;
  record.each(play_question, {}, [&](const Values& row) {
    store_play(play_from_record(row));
    if (++plays % 20'000 == 0 && told) told(plays);
  });
  const std::int64_t head = ledger::head_of(record).seq;
  record.each("SELECT code FROM title", {}, [&](const Values& row) {
    connection_->run("INSERT INTO title (code, seq) VALUES ($1, $2)", {row[0], head});
  });
}

void Standing::take_change(Reader& reader, const Change& change, std::int64_t seq) {
  const std::string& table = change.table;
  const std::string code = text(at(change.row, "code"));
  if (table == "movement") move(reader, change.row);
  if (table == "orders") refresh_order(reader, code);
  if (table == "ticket") refresh_ticket(reader, code);
  if (table == "report") refresh_play(reader, code);
  if (table == "capture")
    for (const Row& report : reader.where("report", "capture", code))
      refresh_play(reader, text(at(report, "code")));
  if (table == "side" && stands(change.row))
    connection_->run(
        "INSERT INTO side (code, plays, passed) VALUES ($1, 0, 0) ON CONFLICT DO NOTHING", {code});
  if (table == "side" && !stands(change.row))
    connection_->run("DELETE FROM side WHERE code = $1", {code});
  for (const std::string& title : titles_of(reader, change))
    connection_->run(
        "INSERT INTO title (code, seq) VALUES ($1, $2) ON CONFLICT (code) DO UPDATE SET seq = "
        "excluded.seq",
        {title, seq});
}

void Standing::move(Reader& reader, const Row& movement) {
  const auto run = reader.find("run", at(movement, "run"));
  if (!run) return;
  const auto add = [&](const Value& place, std::int64_t quantity) {
    connection_->run(
        "INSERT INTO place (\"order\", place, quantity) VALUES ($1, $2, $3) ON CONFLICT "
        "(\"order\", place) DO UPDATE SET quantity = quantity + excluded.quantity",
        {at(*run, "order"), place, quantity});
  };
  add(at(movement, "from_place"), -whole(at(movement, "quantity")));
  add(at(movement, "to_place"), whole(at(movement, "quantity")));
  refresh_order(reader, text(at(*run, "order")));
}

void Standing::refresh_order(Reader& reader, const std::string& order) {
  const auto row = reader.find("orders", order);
  if (!row || !stands(*row)) {
    connection_->run("DELETE FROM orders WHERE code = $1", {order});
    return;
  }
  const auto shipped = connection_->ask(
      "SELECT quantity FROM place WHERE \"order\" = $1 AND place = 'shipped'", {order});
  const std::int64_t gone = shipped.empty() ? 0 : whole(shipped[0][0]);
  connection_->run(
      "INSERT INTO orders (code, title, quantity, due_ms, open) VALUES ($1, $2, $3, $4, $5) ON "
      "CONFLICT (code) DO UPDATE SET title = excluded.title, quantity = excluded.quantity, due_ms "
      "= excluded.due_ms, open = excluded.open",
      {order,
       at(*row, "title"),
       at(*row, "quantity"),
       at(*row, "due_ms"),
       std::int64_t{gone < whole(at(*row, "quantity"))}});
}

void Standing::refresh_ticket(Reader& reader, const std::string& ticket) {
  const auto count = [&](const Value& order, const Value& heard, std::int64_t by) {
    connection_->run(
        "INSERT INTO tickets (\"order\", heard, quantity) VALUES ($1, $2, $3) ON CONFLICT "
        "(\"order\", heard) DO UPDATE SET quantity = quantity + excluded.quantity",
        {order, heard, by});
  };
  const auto before =
      connection_->ask("SELECT \"order\", heard FROM ticket WHERE code = $1", {ticket});
  if (!before.empty()) count(before[0][0], before[0][1], -1);
  connection_->run("DELETE FROM ticket WHERE code = $1", {ticket});
  const auto row = reader.find("ticket", ticket);
  if (row && stands(*row)) {
    const auto run = reader.find("run", at(*row, "run"));
    const Value order = run ? at(*run, "order") : Value{""};
    const Value heard = ledger::is_null(at(*row, "heard")) ? Value{"waiting"} : at(*row, "heard");
    connection_->run(
        "INSERT INTO ticket (code, run, \"order\", heard, at_ms) VALUES ($1, $2, $3, $4, $5)",
        {ticket, at(*row, "run"), order, heard, at(*row, "at_ms")});
    count(order, heard, 1);
  }
  for (const Row& capture : reader.where("capture", "ticket", ticket))
    for (const Row& report : reader.where("report", "capture", at(capture, "code")))
      refresh_play(reader, text(at(report, "code")));
}

void Standing::refresh_play(Reader& reader, const std::string& report) {
  forget_play(report);
  std::optional<Play> play;
  reader.connection().each(std::string{play_question} + " AND r.code = $1",
                           {report},
                           [&](const Values& row) { play = play_from_record(row); });
  if (play) store_play(*play);
}

void Standing::store_play(const Play& play) {
  connection_->run(
      fmt::format("INSERT OR REPLACE INTO play ({}) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, "
                  "$10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21)",
                  play_columns),
      {play.report,
       play.capture,
       play.ticket,
       play.run,
       play.title,
       play.side,
       play.letter,
       play.stamper,
       play.mounting,
       play.first,
       play.last,
       or_null(play.title_first),
       play.play,
       play.after,
       play.pass,
       play.plain,
       play.slight,
       or_null(play.eccentricity_m),
       or_null(play.weighted_noise_dB),
       play.limits,
       play.at_ms});
  connection_->run(
      "INSERT INTO heard (side, stamper, plays, passed, plain, slight, last_ms) VALUES ($1, $2, 1, "
      "$3, $4, $5, $6) ON CONFLICT (side, stamper) DO UPDATE SET plays = plays + 1, passed = "
      "passed + excluded.passed, plain = plain + excluded.plain, slight = slight + "
      "excluded.slight, last_ms = max(coalesce(last_ms, 0), excluded.last_ms)",
      {play.side, play.stamper, play.pass, play.plain, play.slight, play.at_ms});
  connection_->run(
      "UPDATE side SET plays = plays + 1, passed = passed + $1, last_ms = max(coalesce(last_ms, "
      "0), $2) WHERE code = $3",
      {play.pass, play.at_ms, play.side});
}

void Standing::forget_play(const std::string& report) {
  const auto rows = connection_->ask(
      fmt::format("SELECT {} FROM play WHERE report = $1", play_columns), {report});
  if (rows.empty()) return;
  const Play play = play_from_here(rows[0]);
  connection_->run("DELETE FROM play WHERE report = $1", {report});
  const auto newest = connection_->ask(
      "SELECT max(at_ms) FROM play WHERE side = $1 AND stamper = $2", {play.side, play.stamper});
  connection_->run(
      "UPDATE heard SET plays = plays - 1, passed = passed - $1, plain = plain - $2, slight = "
      "slight - $3, last_ms = $4 WHERE side = $5 AND stamper = $6",
      {play.pass, play.plain, play.slight, newest[0][0], play.side, play.stamper});
  connection_->run(
      "UPDATE side SET plays = plays - 1, passed = passed - $1, last_ms = (SELECT max(last_ms) "
      "FROM heard WHERE side = $2) WHERE code = $2",
      {play.pass, play.side});
}

std::vector<std::string> Standing::titles_of(Reader& reader, const Change& change) {
  const std::string& table = change.table;
  const Row& row = change.row;
  const auto column = [&](std::string_view of, const Value& code, std::string_view name) {
    const auto found = ledger::is_null(code) ? std::nullopt : reader.find(of, code);
    return found ? at(*found, name) : Value{};
  };
  const auto of_run = [&](const Value& run) { return column("run", run, "title"); };
  const auto of_ticket = [&](const Value& ticket) {
    return of_run(column("ticket", ticket, "run"));
  };
  const auto of_part = [&](const Value& part) {
    return column("side", column("part", part, "side"), "title");
  };
  const auto of_carton = [&](const Value& carton) {
    return column("orders", column("carton", carton, "order"), "title");
  };
  std::vector<Value> titles;
  if (table == "title") titles = {at(row, "code")};
  if (table == "side" || table == "run" || table == "orders") titles = {at(row, "title")};
  if (table == "cut") titles = {column("side", at(row, "side"), "title")};
  if (table == "part") titles = {of_part(at(row, "code"))};
  if (table == "step") titles = {of_part(at(row, "part"))};
  if (table == "mounting") titles = {of_part(at(row, "stamper_a")), of_part(at(row, "stamper_b"))};
  if (table == "pressing" || table == "ticket" || table == "movement")
    titles = {of_run(at(row, "run"))};
  if (table == "capture") titles = {of_ticket(at(row, "ticket"))};
  if (table == "report") titles = {of_ticket(column("capture", at(row, "capture"), "ticket"))};
  if (table == "remark" || table == "complaint")
    titles = {of_run(at(row, "run")), of_ticket(at(row, "ticket")), of_carton(at(row, "carton"))};
  std::set<std::string> once;
  for (const Value& title : titles)
    if (!ledger::is_null(title)) once.insert(text(title));
  return {once.begin(), once.end()};
}

}  // namespace goodside::serve
