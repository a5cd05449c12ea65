#include "line/reverse_entry.hpp"

#include <fmt/format.h>

#include <map>
#include <set>

#include "line/read_fields.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Change;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;

using Key = std::pair<std::string, std::string>;  ///< table, key

Key key_of(const Change& change) {
  const std::string& column = ledger::find_shape(change.table)->key();
  return {change.table, text(at(change.row, column))};
}

/// The row as the entry `seq` left it.
Row version_of(Writer& writer, const Key& key, std::int64_t seq) {
  const auto event = ledger::event_of(writer.connection(), seq);
  Row found;
  if (event)
    for (const Change& change : ledger::read_body(event->body))
      if (change.table == key.first && key_of(change) == key) found = change.row;
  return found;
}

/// The entry whose version of the row stands: what took a later entry back left the row as the one before had made it.
std::int64_t standing_entry(Writer& writer, const Key& key, std::int64_t seq) {
  for (;;) {
    const auto entry = ledger::event_of(writer.connection(), seq);
    const auto undone = entry && entry->reverses
                            ? ledger::event_of(writer.connection(), *entry->reverses)
                            : std::nullopt;
    if (!undone) return seq;
    std::int64_t was = 0;
    for (const Change& change : ledger::read_body(undone->body))
      if (was == 0 && change.table == key.first && key_of(change) == key) was = change.was;
    if (was == 0) return seq;
    seq = was;
  }
}

/// Refuses where a row that stays names the one that is taken back.
void nobody_builds_on(Writer& writer, const Key& key, const std::map<Key, std::int64_t>& taken) {
  for (const works::Kind& kind : works::kinds())
    for (const works::Field& field : kind.fields) {
      if (field.refers_to != key.first) continue;
      for (const Row& row : writer.where(kind.table, field.name, key.second)) {
        const std::string code = text(at(row, "code"));
        if (whole(at(row, "void")) != 0 || taken.contains({std::string{kind.table}, code}))
          continue;
        refuse(Fault::conflict,
               fmt::format("{} {} was entered for {}, by entry {}; take that back first",
                           kind.name,
                           code,
                           key.second,
                           whole(at(row, "event"))));
      }
    }
}

void reverse_rows(Writer& writer, const std::vector<Change>& changes, std::int64_t seq) {
  std::map<Key, std::int64_t> before;  // the entry that wrote the row before this one, 0 none
  for (const Change& change : changes) {
    if (change.table == "movement" || change.table == "counter") continue;
    before.try_emplace(key_of(change), change.was);
  }
  for (const auto& [key, was] : before) {
    auto row = writer.find(key.first, key.second);
    if (!row)
      refuse(Fault::conflict,
             fmt::format("{} {} is gone; run `goodside works check`", key.first, key.second));
    if (standing_entry(writer, key, whole(at(*row, "event"))) != seq)
      refuse(Fault::conflict,
             fmt::format("{} was changed by entry {} since; take that back first",
                         key.second,
                         whole(at(*row, "event"))));
    if (was == 0 && key.first == "setting")
      refuse(Fault::conflict, "a setting that was new cannot be taken back; set it again");
    if (was == 0) {
      nobody_builds_on(writer, key, before);
      (*row)["void"] = std::int64_t{1};
      writer.alter(key.first, *row);
      continue;
    }
    Row old = version_of(writer, key, was);
    old["event"] = at(*row, "event");
    writer.alter(key.first, std::move(old));
  }
}

void reverse_movements(Writer& writer, const std::vector<Change>& changes) {
  for (auto change = changes.rbegin(); change != changes.rend(); ++change) {
    if (change->table != "movement") continue;
    works::Movement movement = ledger::movement_of(change->row);
    std::swap(movement.from, movement.to);
    writer.post(movement, {}, whole(at(change->row, "id")));
  }
}

}  // namespace

Result<ledger::Head> reverse_entry(const Desk& desk, std::int64_t seq, const std::string& reason) {
  if (reason.empty())
    return Error{Fault::bad_input, "say why it is taken back; give --reason \"…\""};
  if (const auto fit = fit_text(reason); !fit) return fit.error();
  ledger::Act act = desk.act("reverse: " + reason);
  act.reverses = seq;
  return desk.record.write(act, [&](Writer& writer) {
    const auto event = ledger::event_of(writer.connection(), seq);
    if (!event) refuse(Fault::not_found, fmt::format("there is no entry {}", seq));
    const auto earlier =
        writer.connection().ask("SELECT seq FROM event WHERE reverses = $1", {seq});
    if (!earlier.empty())
      refuse(Fault::conflict,
             fmt::format("entry {} was taken back by entry {}", seq, whole(earlier[0][0])));
    writer.about(event->subject);
    const auto changes = ledger::read_body(event->body);
    reverse_movements(writer, changes);
    reverse_rows(writer, changes, seq);
  });
}

}  // namespace goodside::line
