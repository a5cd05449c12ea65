#include <fmt/format.h>

#include <algorithm>

#include "serve/standing.hpp"
#include "serve/standing_rows.hpp"

// What the standing answers; standing.cpp brings it forward.

namespace goodside::serve {
namespace {

using ledger::text;
using ledger::Value;
using ledger::Values;
using ledger::whole;

HeardSum sum_from(const Values& row) {
  return {text(row[0]), whole(row[1]), whole(row[2]), whole(row[3]), whole(row[4]), maybe(row[5])};
}

}  // namespace

std::optional<Play> Standing::play(const std::string& report) {
  const std::lock_guard lock{guard_};
  const auto rows = connection_->ask(
      fmt::format("SELECT {} FROM play WHERE report = $1", play_columns), {report});
  if (rows.empty()) return std::nullopt;
  return play_from_here(rows[0]);
}

std::vector<Play> Standing::plays(const PlayChoice& choice) {
  const std::lock_guard lock{guard_};
  std::string sql = fmt::format("SELECT {} FROM play WHERE side = $1", play_columns);
  Values values{choice.side};
  const auto given = [&](Value value) {
    values.push_back(std::move(value));
    return values.size();
  };
  if (choice.stamper) sql += fmt::format(" AND stamper = ${}", given(*choice.stamper));
  if (choice.pass) sql += fmt::format(" AND pass = ${}", given(std::int64_t{*choice.pass}));
  if (!choice.after.empty()) {
    const auto rows = connection_->ask(
        "SELECT stamper, \"first\", report, at_ms FROM play WHERE report = $1", {choice.after});
    if (rows.empty()) return {};
    if (choice.newest_first) {
      const auto when = given(rows[0][3]), report = given(rows[0][2]);
      sql += fmt::format(" AND (at_ms, report) < (${}, ${})", when, report);
    } else {
      const auto stamper = given(rows[0][0]), first = given(rows[0][1]), report = given(rows[0][2]);
      sql += fmt::format(
          " AND (stamper, \"first\", report) > (${}, ${}, ${})", stamper, first, report);
    }
  }
  sql += choice.newest_first ? " ORDER BY at_ms DESC, report DESC"
                             : " ORDER BY stamper, \"first\", report";
  sql += fmt::format(" LIMIT ${}", given(choice.limit));
  std::vector<Play> plays;
  connection_->each(sql, values, [&](const Values& row) { plays.push_back(play_from_here(row)); });
  return plays;
}

std::int64_t Standing::count(const PlayChoice& choice) {
  const std::lock_guard lock{guard_};
  std::string sql =
      "SELECT coalesce(sum(plays), 0), coalesce(sum(passed), 0) FROM heard WHERE side = $1";
  Values values{choice.side};
  if (choice.stamper) {
    sql += " AND stamper = $2";
    values.emplace_back(*choice.stamper);
  }
  const auto rows = connection_->ask(sql, values);
  const std::int64_t plays = whole(rows[0][0]), passed = whole(rows[0][1]);
  if (!choice.pass) return plays;
  return *choice.pass ? passed : plays - passed;
}

std::vector<Play> Standing::plays_of_ticket(const std::string& ticket) {
  const std::lock_guard lock{guard_};
  std::vector<Play> plays;
  connection_->each(
      fmt::format("SELECT {} FROM play WHERE ticket = $1 ORDER BY letter, play, report",
                  play_columns),
      {ticket},
      [&](const Values& row) { plays.push_back(play_from_here(row)); });
  return plays;
}

std::map<std::string, std::string> Standing::reports_by_ticket(const std::string& side) {
  const std::lock_guard lock{guard_};
  std::map<std::string, std::string> reports;
  connection_->each("SELECT ticket, report FROM play WHERE side = $1 ORDER BY at_ms, report",
                    {side},
                    [&](const Values& row) { reports[text(row[0])] = text(row[1]); });
  return reports;
}

std::pair<std::string, std::string> Standing::neighbours(const Play& play) {
  const std::lock_guard lock{guard_};
  const Values where{play.side, play.stamper, play.first, play.report};
  const auto before = connection_->ask(
      "SELECT report FROM play WHERE side = $1 AND stamper = $2 AND (\"first\", report) < ($3, $4) "
      "ORDER BY \"first\" DESC, report DESC LIMIT 1",
      where);
  const auto after = connection_->ask(
      "SELECT report FROM play WHERE side = $1 AND stamper = $2 AND (\"first\", report) > ($3, $4) "
      "ORDER BY \"first\", report LIMIT 1",
      where);
  return {before.empty() ? "" : text(before[0][0]), after.empty() ? "" : text(after[0][0])};
}

std::vector<HeardSum> Standing::stampers(const std::string& side) {
  const std::lock_guard lock{guard_};
  std::vector<HeardSum> sums;
  connection_->each(
      "SELECT stamper, plays, passed, plain, slight, last_ms FROM heard WHERE side = $1 AND plays "
      "> 0 ORDER BY stamper",
      {side},
      [&](const Values& row) { sums.push_back(sum_from(row)); });
  return sums;
}

HeardSum Standing::stamper(const std::string& stamper) {
  const std::lock_guard lock{guard_};
  const auto rows = connection_->ask(
      "SELECT $1, coalesce(sum(plays), 0), coalesce(sum(passed), 0), coalesce(sum(plain), 0), "
      "coalesce(sum(slight), 0), max(last_ms) FROM heard WHERE stamper = $1",
      {stamper});
  return sum_from(rows[0]);
}

std::vector<HeardSum> Standing::sides(std::int64_t from, std::int64_t count) {
  const std::lock_guard lock{guard_};
  std::vector<HeardSum> sums;
  connection_->each(
      "SELECT code, plays, passed, 0, 0, last_ms FROM side ORDER BY last_ms DESC, code DESC LIMIT "
      "$1 OFFSET $2",
      {count, from},
      [&](const Values& row) { sums.push_back(sum_from(row)); });
  return sums;
}

HeardSum Standing::side(const std::string& side) {
  const std::lock_guard lock{guard_};
  const auto rows = connection_->ask(
      "SELECT code, plays, passed, 0, 0, last_ms FROM side WHERE code = $1", {side});
  return rows.empty() ? HeardSum{.key = side} : sum_from(rows[0]);
}

OrderSum Standing::order_within(const std::string& order) {
  OrderSum sum;
  sum.code = order;
  const auto rows =
      connection_->ask("SELECT title, quantity, due_ms FROM orders WHERE code = $1", {order});
  if (!rows.empty()) {
    sum.title = text(rows[0][0]);
    sum.quantity = whole(rows[0][1]);
    sum.due_ms = maybe(rows[0][2]);
  }
  connection_->each("SELECT place, quantity FROM place WHERE \"order\" = $1",
                    {order},
                    [&](const Values& row) { sum.places[text(row[0])] = whole(row[1]); });
  sum.made = -sum.places["press"];
  sum.places.erase("press");
  connection_->each(
      "SELECT heard, quantity FROM tickets WHERE \"order\" = $1", {order}, [&](const Values& row) {
        const std::string heard = text(row[0]);
        (heard == "good" ? sum.good : heard == "bad" ? sum.bad : sum.waiting) += whole(row[1]);
      });
  return sum;
}

std::vector<OrderSum> Standing::open_orders(std::int64_t count) {
  const std::lock_guard lock{guard_};
  std::vector<OrderSum> orders;
  for (const auto& row : connection_->ask(
           "SELECT code FROM orders WHERE open = 1 ORDER BY due_ms IS NULL, due_ms, code LIMIT $1",
           {count}))
    orders.push_back(order_within(text(row[0])));
  return orders;
}

std::int64_t Standing::open_order_count() {
  const std::lock_guard lock{guard_};
  return whole(connection_->ask("SELECT count(*) FROM orders WHERE open = 1")[0][0]);
}

OrderSum Standing::order(const std::string& order) {
  const std::lock_guard lock{guard_};
  return order_within(order);
}

std::vector<std::string> Standing::orders_to_inspect(std::int64_t count) {
  const std::lock_guard lock{guard_};
  std::vector<std::string> orders;
  for (const auto& row :
       connection_->ask("SELECT DISTINCT \"order\" FROM place WHERE place IN ('pressed', 'edge "
                        "finished') AND quantity > 0 ORDER BY \"order\" DESC LIMIT $1",
                        {count}))
    orders.push_back(text(row[0]));
  return orders;
}

std::map<std::string, std::int64_t> Standing::all_places() {
  const std::lock_guard lock{guard_};
  std::map<std::string, std::int64_t> all;
  connection_->each("SELECT place, sum(quantity) FROM place GROUP BY place",
                    {},
                    [&](const Values& row) { all[text(row[0])] = whole(row[1]); });
  return all;
}

std::map<std::string, std::int64_t> Standing::all_tickets() {
  const std::lock_guard lock{guard_};
  std::map<std::string, std::int64_t> all;
  connection_->each("SELECT heard, sum(quantity) FROM tickets GROUP BY heard",
                    {},
                    [&](const Values& row) { all[text(row[0])] = whole(row[1]); });
  return all;
}

std::map<std::string, std::int64_t> Standing::tickets_of_run(const std::string& run) {
  const std::lock_guard lock{guard_};
  std::map<std::string, std::int64_t> all;
  connection_->each("SELECT heard, count(*) FROM ticket WHERE run = $1 GROUP BY heard",
                    {run},
                    [&](const Values& row) { all[text(row[0])] = whole(row[1]); });
  return all;
}

std::vector<std::string> Standing::waiting_tickets(std::int64_t count) {
  const std::lock_guard lock{guard_};
  std::vector<std::string> tickets;
  connection_->each("SELECT code FROM ticket WHERE heard = 'waiting' ORDER BY at_ms, code LIMIT $1",
                    {count},
                    [&](const Values& row) { tickets.push_back(text(row[0])); });
  return tickets;
}

std::int64_t Standing::title_seq(const std::string& title) {
  const std::lock_guard lock{guard_};
  const auto rows = connection_->ask("SELECT seq FROM title WHERE code = $1", {title});
  return rows.empty() ? 0 : whole(rows[0][0]);
}

}  // namespace goodside::serve
