#include "line/press_discs.hpp"

#include <fmt/format.h>

#include "line/part_life.hpp"
#include "line/read_fields.hpp"
#include "line/sample_tickets.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;
using works::Place;

std::optional<Row> open_mounting(Reader& reader, const std::string& press) {
  for (Row& row : reader.where("mounting", "press", press))
    if (ledger::is_null(at(row, "ended_ms")) && ledger::stands(row)) return std::move(row);
  return std::nullopt;
}

std::string title_of_part(Reader& reader, const Row& part) {
  const std::string side = text(at(part, "side"));
  return side.empty() ? "" : text(at(reader.need("side", side), "title"));
}

/// The newest decision on the order's test pressings, or nothing.
std::string decision_on(Reader& reader, const std::string& order) {
  std::int64_t newest = 0;
  std::string decision;
  for (const Row& row : reader.where("approval", "order", order))
    if (ledger::stands(row) && whole(at(row, "event")) >= newest) {
      newest = whole(at(row, "event"));
      decision = text(at(row, "decision"));
    }
  return decision;
}

void check_approval(Reader& reader, const Row& run) {
  if (text(at(run, "purpose")) == "test") return;
  const std::string order = text(at(run, "order")), decision = decision_on(reader, order);
  if (decision == "approved" || decision == "waived") return;
  refuse(Fault::conflict,
         fmt::format("run {} cannot start: the test pressing of {} is {}; enter `goodside works "
                     "approve {} approved --ticket …` or a signed waiver, `… waived --words …`",
                     text(at(run, "code")),
                     order,
                     decision.empty() ? "not made yet" : decision,
                     order));
}

/// The impression of the title that comes next, over all its runs.
std::int64_t next_of_title(Reader& reader, const std::string& title) {
  return 1 + whole(reader.connection().ask(
                 "SELECT sum(p.\"last\" - p.\"first\" + 1) FROM run r JOIN pressing p ON p.run = "
                 "r.code WHERE r.title = $1 AND coalesce(p.void, 0) = 0",
                 {title})[0][0]);
}

Pressed press_within(Writer& writer, const Pressing& pressing) {
  const Row run = writer.need("run", pressing.run);
  if (pressing.quantity < 1 || pressing.quantity > 10'000'000)
    refuse(Fault::bad_input, "the quantity is 1 to 10 000 000 impressions");
  check_approval(writer, run);
  const std::string press = text(at(run, "press"));
  if (press.empty()) refuse(Fault::conflict, "run " + pressing.run + " has no press");
  const auto mounting = open_mounting(writer, press);
  if (!mounting)
    refuse(Fault::conflict,
           fmt::format(
               "nothing is mounted on {}; `goodside works mount {} …` comes first", press, press));
  for (const char* side : {"stamper_a", "stamper_b"})
    if (const std::string part = text(at(*mounting, side)); !part.empty()) {
      const std::string title = title_of_part(writer, writer.need("part", part));
      if (!title.empty() && title != text(at(run, "title")))
        refuse(
            Fault::conflict,
            fmt::format("{} on {} is of title {}, and run {} of {}; the wrong stamper is mounted",
                        part,
                        press,
                        title,
                        pressing.run,
                        text(at(run, "title"))));
    }

  const std::int64_t made = writer.stock(pressing.run).made();
  const works::Impressions range{made + 1, made + pressing.quantity};
  if (pressing.from_impression && *pressing.from_impression != range.first)
    refuse(Fault::conflict,
           fmt::format("impression {} of {} was claimed before; the next is {}: look again",
                       *pressing.from_impression,
                       pressing.run,
                       range.first));
  const char* const purpose = pressing.purpose == Purpose::run       ? "run"
                              : pressing.purpose == Purpose::warm_up ? "warm up"
                                                                     : "purge";
  Row row{{"run", pressing.run},
          {"mounting", at(*mounting, "code")},
          {"first", range.first},
          {"last", range.last},
          {"title_first", next_of_title(writer, text(at(run, "title")))},
          {"purpose", purpose},
          {"recipe", pressing.recipe.empty() ? at(run, "recipe") : ledger::Value{pressing.recipe}}};
  if (pressing.counter) {
    const std::int64_t from = *pressing.counter - pressing.quantity;
    if (from < whole(at(*mounting, "counter_from")))
      refuse(Fault::bad_input,
             fmt::format("the counter reads {}, and {} impressions before it is below {}, where {} "
                         "was mounted; look at the counter again",
                         *pressing.counter,
                         pressing.quantity,
                         whole(at(*mounting, "counter_from")),
                         text(at(*mounting, "code"))));
    row["counter_from"] = from;
    row["counter_to"] = *pressing.counter;
  }
  if (!pressing.batch.empty()) row["batch"] = at(writer.need("batch", pressing.batch), "code");
  if (!pressing.recipe.empty()) static_cast<void>(writer.need("recipe", pressing.recipe));
  if (!pressing.spindle.empty()) static_cast<void>(writer.need("spindle", pressing.spindle));
  if (pressing.at_ms) row["at_ms"] = *pressing.at_ms;
  std::erase_if(row, [](const auto& cell) { return ledger::is_null(cell.second); });
  Pressed pressed{
      {writer.add(works::kind_of_table("pressing"), std::move(row)), {}}, range.first, range.last};
  const works::Spot to = pressing.purpose == Purpose::run
                             ? works::Spot{Place::pressed, pressing.spindle, "", {}}
                             : works::Spot{Place::scrap, "", purpose, {}};
  writer.post({pressing.run, range, pressing.quantity, {Place::press, "", "", {}}, to},
              pressing.at_ms);
  return pressed;
}

}  // namespace

Result<Entered> mount(const Desk& desk, const Mount& wanted) {
  if (wanted.stamper_a.empty() && wanted.stamper_b.empty())
    return Error{Fault::bad_input, "give --a or --b, the stampers that are mounted"};
  if (wanted.stamper_a == wanted.stamper_b)
    return Error{Fault::bad_input, wanted.stamper_a + " cannot be on both sides"};
  Entered entered;
  const auto head = desk.record.write(desk.act("mount"), [&](Writer& writer) {
    static_cast<void>(writer.need("press", wanted.press));
    if (const auto open = open_mounting(writer, wanted.press))
      refuse(
          Fault::conflict,
          fmt::format("{} is taken by mounting {}; `goodside works unmount {} --counter …` comes "
                      "first",
                      wanted.press,
                      text(at(*open, "code")),
                      text(at(*open, "code"))));
    Row row{{"press", wanted.press}, {"counter_from", wanted.counter}};
    if (!wanted.stamper_a.empty()) row["stamper_a"] = wanted.stamper_a;
    if (!wanted.stamper_b.empty()) row["stamper_b"] = wanted.stamper_b;
    if (!wanted.reason.empty()) row["reason"] = wanted.reason;
    row["begun_ms"] = wanted.at_ms.value_or(desk.now_ms);
    for (const std::string& part : {wanted.stamper_a, wanted.stamper_b})
      if (!part.empty()) static_cast<void>(writer.need("part", part));
    entered.code = writer.add(works::kind_of_table("mounting"), std::move(row));
    for (const std::string& part : {wanted.stamper_a, wanted.stamper_b})
      if (!part.empty())
        do_step(writer,
                {.part = part,
                 .step = works::Step::mounted,
                 .at_ms = wanted.at_ms,
                 .mounting = entered.code});
  });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

Result<Entered> unmount(const Desk& desk, const Unmount& wanted) {
  const auto head = desk.record.write(desk.act("unmount", wanted.mounting), [&](Writer& writer) {
    Row row = writer.need("mounting", wanted.mounting);
    if (!ledger::is_null(at(row, "ended_ms")))
      refuse(Fault::conflict, wanted.mounting + " was taken off before");
    if (wanted.counter < whole(at(row, "counter_from")))
      refuse(Fault::bad_input,
             fmt::format("the counter reads {}, below {}, where {} was mounted; look at it again",
                         wanted.counter,
                         whole(at(row, "counter_from")),
                         wanted.mounting));
    row["counter_to"] = wanted.counter;
    row["ended_ms"] = wanted.at_ms.value_or(desk.now_ms);
    if (!wanted.reason.empty()) row["note"] = wanted.reason;
    writer.alter("mounting", row);
    for (const char* side : {"stamper_a", "stamper_b"})
      if (const std::string part = text(at(row, side)); !part.empty())
        do_step(writer,
                {.part = part,
                 .step = works::Step::unmounted,
                 .note = wanted.reason,
                 .at_ms = wanted.at_ms,
                 .mounting = wanted.mounting});
  });
  if (!head) return head.error();
  return Entered{wanted.mounting, *head};
}

Result<Pressed> press_discs(const Desk& desk, const Pressing& pressing) {
  Pressed pressed;
  const auto head = desk.record.write(desk.act("press", pressing.run), [&](Writer& writer) {
    pressed = press_within(writer, pressing);
  });
  if (!head) return head.error();
  pressed.entered.head = *head;
  return pressed;
}

Result<Entered> enter_approval(const Desk& desk, const Approval& approval) {
  const auto field = read_field(*works::find_field(works::kind_of_table("approval"), "decision"),
                                approval.decision);
  if (!field) return field.error();
  if ((approval.decision == "refused" || approval.decision == "waived") && approval.words.empty())
    return Error{Fault::bad_input,
                 approval.decision == "refused"
                     ? "give --words \"…\", what the customer said"
                     : "a waiver is signed: give --words \"…\", who waives the test and why"};
  Entered entered;
  const auto head = desk.record.write(desk.act("approve"), [&](Writer& writer) {
    static_cast<void>(writer.need("orders", approval.order));
    Row row{{"order", approval.order}, {"decision", approval.decision}};
    if (approval.decision != "waived") {
      if (approval.ticket.empty())
        refuse(Fault::bad_input, "give --ticket …, the disc that was sent or heard");
      const Row ticket = writer.need("ticket", approval.ticket);
      const Row run = writer.need("run", text(at(ticket, "run")));
      if (text(at(run, "order")) != approval.order)
        refuse(Fault::conflict,
               fmt::format("{} is a disc of order {}, not of {}",
                           approval.ticket,
                           text(at(run, "order")),
                           approval.order));
      if (approval.decision == "approved" && text(at(ticket, "heard")) == "bad")
        refuse(Fault::conflict, approval.ticket + " was heard and found bad; approve another disc");
      if (approval.decision == "approved" && text(at(ticket, "heard")) == "waiting")
        find_good(writer, ticket);
      row["ticket"] = approval.ticket;
      row["run"] = at(ticket, "run");
    }
    if (!approval.words.empty()) row["words"] = approval.words;
    if (!approval.report.empty())
      row["report"] = at(writer.need("report", approval.report), "code");
    if (approval.at_ms) row["at_ms"] = *approval.at_ms;
    entered.code = writer.add(works::kind_of_table("approval"), std::move(row));
    writer.about(approval.order);
  });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

}  // namespace goodside::line
