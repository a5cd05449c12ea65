#include "ledger/event.hpp"

#include <fmt/format.h>

#include <limits>

#include "base/sha256.hpp"

namespace goodside::ledger {
namespace {

#define EVENT_COLUMNS "seq, at_ms, who, what, subject, reverses, body, previous, hash"

Event event_from(const Values& row) {
  Event event{whole(row[0]),
              whole(row[1]),
              text(row[2]),
              text(row[3]),
              text(row[4]),
              std::nullopt,
              text(row[6]),
              text(row[7]),
              text(row[8])};
  if (!is_null(row[5])) event.reverses = whole(row[5]);
  return event;
}

}  // namespace

std::string hash_of(const Event& event) {
  Sha256 hash;
  hash.take(fmt::format("{}\n{}\n{}\n{}\n{}\n{}\n{}\n",
                        event.previous,
                        event.seq,
                        event.at_ms,
                        event.who,
                        event.what,
                        event.subject,
                        event.reverses ? fmt::format("{}", *event.reverses) : ""));
  hash.take(event.body);
  return hexadecimal(hash.finish());
}

Head head_of(Connection& connection) {
  const auto rows = connection.ask("SELECT seq, hash FROM event ORDER BY seq DESC LIMIT 1");
  return rows.empty() ? Head{} : Head{whole(rows[0][0]), text(rows[0][1])};
}

void append(Connection& connection, const Event& event) {
  connection.run("INSERT INTO event (" EVENT_COLUMNS
                 ") VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
                 {event.seq,
                  event.at_ms,
                  event.who,
                  event.what,
                  event.subject,
                  event.reverses ? Value{*event.reverses} : Value{},
                  event.body,
                  event.previous,
                  event.hash});
}

void each_event(Connection& connection,
                std::int64_t first,
                const std::function<void(const Event&)>& take) {
  connection.each("SELECT " EVENT_COLUMNS " FROM event WHERE seq >= $1 ORDER BY seq",
                  {first},
                  [&](const Values& row) { take(event_from(row)); });
}

std::vector<Event> events_from(Connection& connection, std::int64_t first, std::int64_t count) {
  std::vector<Event> events;
  connection.each("SELECT " EVENT_COLUMNS " FROM event WHERE seq >= $1 ORDER BY seq LIMIT $2",
                  {first, count},
                  [&](const Values& row) { events.push_back(event_from(row)); });
  return events;
}

std::optional<Event> event_of(Connection& connection, std::int64_t seq) {
  const auto rows = connection.ask("SELECT " EVENT_COLUMNS " FROM event WHERE seq = $1", {seq});
  if (rows.empty()) return std::nullopt;
  return event_from(rows[0]);
}

std::vector<Event> newest_events(Connection& connection,
                                 const std::string& subject,
                                 std::int64_t count,
                                 std::int64_t before) {
  std::vector<Event> events;
  const std::int64_t under = before > 0 ? before : std::numeric_limits<std::int64_t>::max();
  const auto take = [&](const Values& row) { events.push_back(event_from(row)); };
  if (subject.empty())
    connection.each("SELECT " EVENT_COLUMNS " FROM event WHERE seq < $1 ORDER BY seq DESC LIMIT $2",
                    {under, count},
                    take);
  else
    connection.each("SELECT " EVENT_COLUMNS
                    " FROM event WHERE subject = $1 AND seq < $2 ORDER BY seq DESC LIMIT $3",
                    {subject, under, count},
                    take);
  return events;
}

}  // namespace goodside::ledger
