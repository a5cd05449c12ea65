#include "ledger/record.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <chrono>
#include <thread>

#include "base/expects.hpp"
#include "ledger/migrations.hpp"
#include "works/code.hpp"

namespace goodside::ledger {
namespace {

constexpr int tries = 5;
constexpr std::int64_t movements_per_entry = 65536, looked_through_bytes = std::int64_t{64} << 20;

Outcome unharmed(Connection& connection) {
  if (connection.kind() == Connection::Kind::sqlite) {
    const auto size = connection.ask(
        "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()");
    if (whole(size[0][0]) <= looked_through_bytes)
      if (const std::string complaint = connection.integrity_complaint(false); !complaint.empty())
        return Error{Fault::bad_input,
                     fmt::format("the record's file is damaged ({}); restore the last backup with "
                                 "`goodside works restore`",
                                 complaint)};
  }
  const Head head = head_of(connection);
  if (head.seq == 0) return Done{};
  const auto newest = event_of(connection, head.seq);
  if (newest && hash_of(*newest) == head.hash) return Done{};
  return Error{Fault::bad_input,
               fmt::format("the newest entry, {}, is not what was written; run `goodside works "
                           "check` and restore the last backup",
                           head.seq)};
}

}  // namespace

Error told(const StoreFailure& failure) {
  switch (failure.fault()) {
    case StoreFault::again:
      return {Fault::conflict,
              "another station held the record for too long; nothing was entered, try again"};
    case StoreFault::unique:
      return {Fault::conflict,
              fmt::format("it is there already ({}); nothing was entered", failure.what())};
    case StoreFault::foreign:
      return {Fault::not_found,
              fmt::format("it names something that the record does not hold ({})", failure.what())};
    case StoreFault::check:
      return {Fault::bad_input, failure.what()};
    case StoreFault::corrupt:
      return {Fault::bad_input, failure.what()};
    case StoreFault::full:
    case StoreFault::other:
      break;
  }
  return {Fault::io, fmt::format("{}; nothing was entered", failure.what())};
}

Writer::Writer(Connection& connection, const Act& act) : Reader{connection} {
  const Head head = head_of(connection);
  event_ = {.seq = head.seq + 1,
            .at_ms = act.at_ms,
            .who = act.who,
            .what = act.what,
            .subject = act.subject,
            .reverses = act.reverses,
            .body = {},
            .previous = head.hash,
            .hash = {}};
}

void Writer::about(const std::string& code) {
  if (event_.subject.empty()) event_.subject = code;
}

void Writer::write(Change change) {
  apply(connection(), change, seq());
  write_line(change, event_.body);
}

std::string Writer::next_code(const works::Kind& kind) {
  const std::string own = setting("codes." + std::string{kind.table});
  const auto pattern = works::CodePattern::parse(own.empty() ? kind.pattern : own);
  if (!pattern) throw Refused{pattern.error()};
  auto counter = find("counter", Value{std::string{kind.table}});
  const std::int64_t last = counter ? whole(at(*counter, "last")) : 0;
  Change change{"counter", {{"kind", std::string{kind.table}}, {"last", last + 1}}, 0};
  if (counter) change.was = whole(at(*counter, "event"));
  write(std::move(change));
  return pattern->write(last + 1);
}

std::string Writer::add(const works::Kind& kind, Row row) {
  std::string code = text(at(row, "code"));
  while (code.empty()) {
    code = next_code(kind);
    if (find(kind.table, code)) code.clear();  // a card index brought this one
  }
  row["code"] = code;
  row["id"] = works::time_ordered_id(event_.at_ms, code, event_.previous);
  if (is_null(at(row, "at_ms"))) row["at_ms"] = event_.at_ms;
  if (is_null(at(row, "who"))) row["who"] = event_.who;
  row.erase("event");
  about(code);
  write({std::string{kind.table}, std::move(row), 0});
  return code;
}

void Writer::alter(std::string_view table, Row row) {
  const std::int64_t was = whole(at(row, "event"));
  EXPECTS(was > 0);
  row.erase("event");
  write({std::string{table}, std::move(row), was});
}

void Writer::set(const std::string& name, const std::string& value) {
  Change change{"setting", {{"name", name}, {"value", value}}, 0};
  if (const auto known = find("setting", Value{name})) change.was = whole(at(*known, "event"));
  write(std::move(change));
}

Writer::Stock& Writer::stock_of(const std::string& run) {
  const auto known = stocks_.find(run);
  if (known != stocks_.end()) return known->second;
  auto before = holdings(run);
  return stocks_.emplace(run, Stock{before, works::RunStock{before}}).first->second;
}

const works::RunStock& Writer::stock(const std::string& run) {
  return stock_of(run).now;
}

void Writer::post(const works::Movement& movement,
                  std::optional<std::int64_t> at_ms,
                  std::optional<std::int64_t> reverses) {
  if (const auto posted = stock_of(movement.run).now.post(movement); !posted)
    throw Refused{posted.error()};
  EXPECTS(movements_ < movements_per_entry);
  Row row{{"id", seq() * movements_per_entry + movements_++},
          {"run", movement.run},
          {"first", movement.impressions.first},
          {"last", movement.impressions.last},
          {"quantity", movement.quantity},
          {"at_ms", at_ms.value_or(event_.at_ms)}};
  const auto spot = [&](const std::string& side, const works::Spot& place) {
    row[side + "_place"] = std::string{word(place.place)};
    if (!place.at.empty()) row[side + "_at"] = place.at;
    if (!place.reason.empty()) row[side + "_reason"] = place.reason;
    if (place.from) row[side + "_from"] = std::string{word(*place.from)};
  };
  spot("from", movement.from);
  spot("to", movement.to);
  if (reverses) row["reverses"] = *reverses;
  about(movement.run);
  write({"movement", std::move(row), 0});
}

Head Writer::finish() {
  if (event_.body.empty()) return {event_.seq - 1, event_.previous};
  for (const auto& [run, stock] : stocks_)
    store_holdings(connection(), run, stock.before, stock.now.holdings());
  event_.hash = hash_of(event_);
  append(connection(), event_);
  return {event_.seq, event_.hash};
}

Result<Record> Record::open(const std::string& where, bool create) {
  auto connection = connect(where, create);
  if (!connection) return connection.error();
  try {
    if (const auto done = migrate(**connection); !done) return done.error();
    if (const auto whole_file = unharmed(**connection); !whole_file) return whole_file.error();
  } catch (const StoreFailure& failure) {
    return told(failure);
  }
  return Record{std::move(*connection)};
}

Result<Head> Record::write(const Act& act, const std::function<void(Writer&)>& decide) {
  for (int attempt = 1;; ++attempt) try {
      connection_->begin_write();
      Writer writer{*connection_, act};
      decide(writer);
      const Head head = writer.finish();
      connection_->commit();
      return head;
    } catch (const Refused& refused) {
      connection_->roll_back();
      return refused.error;
    } catch (const StoreFailure& failure) {
      connection_->roll_back();
      if (failure.fault() != StoreFault::again || attempt == tries) return told(failure);
      std::this_thread::sleep_for(std::chrono::milliseconds{5 << attempt});
    } catch (...) {
      connection_->roll_back();
      throw;
    }
}

Outcome Record::read(const std::function<void(Reader&)>& ask) {
  try {
    connection_->begin_read();
    Reader reader{*connection_};
    ask(reader);
    connection_->roll_back();
    return Done{};
  } catch (const Refused& refused) {
    connection_->roll_back();
    return refused.error;
  } catch (const StoreFailure& failure) {
    connection_->roll_back();
    return told(failure);
  } catch (...) {
    connection_->roll_back();
    throw;
  }
}

}  // namespace goodside::ledger
