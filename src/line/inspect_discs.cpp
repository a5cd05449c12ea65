#include "line/inspect_discs.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "line/move_discs.hpp"
#include "line/read_fields.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::or_refuse;
using ledger::Reader;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;
using works::Place;

/// Nothing of the line is inspected but what is pressed or edge finished; the last step first.
constexpr std::array looked_at{Place::edge_finished, Place::pressed};

std::int64_t there(Writer& writer, const Looked& of, Place place) {
  std::int64_t sum = 0;
  for (const works::Holding& holding : writer.stock(of.run).holdings())
    if (holding.spot.place == place && holding.spot.at == of.spindle) sum += holding.quantity;
  return sum;
}

std::int64_t all_there(Writer& writer, const Looked& of) {
  std::int64_t sum = 0;
  for (const Place place : looked_at) sum += there(writer, of, place);
  return sum;
}

void need_named(Writer& writer, const Looked& of) {
  static_cast<void>(writer.need("run", of.run));
  if (!of.spindle.empty()) static_cast<void>(writer.need("spindle", of.spindle));
}

/// Takes `quantity` off the spindle, the furthest finished first.
void post_from(Writer& writer, const Looked& of, std::int64_t quantity, const works::Spot& to) {
  for (const Place place : looked_at) {
    const std::int64_t some = std::min(quantity, there(writer, of, place));
    if (some == 0) continue;
    // A copy of what stands there alone: an empty spindle would mean any.
    std::vector<works::Holding> here;
    for (const works::Holding& holding : writer.stock(of.run).holdings())
      if (holding.spot.place == place && holding.spot.at == of.spindle) here.push_back(holding);
    const works::RunStock stock{std::move(here)};
    post_all(writer,
             or_refuse(choose_stock(stock,
                                    {.run = of.run, .quantity = some, .places = {place}},
                                    [&](const works::Spot&) { return to; })));
    quantity -= some;
  }
}

std::string inspection_of(Writer& writer, const Looked& of) {
  if (const auto open = open_inspection(writer, of)) return text(at(*open, "code"));
  Row row{{"run", of.run}, {"looked", std::int64_t{0}}};
  if (!of.spindle.empty()) row["spindle"] = of.spindle;
  return writer.add(works::kind_of_table("inspection"), std::move(row));
}

void tally(Writer& writer,
           const std::string& inspection,
           const std::string& reason,
           std::int64_t quantity) {
  for (Row& row : writer.standing("tally", "inspection", inspection))
    if (text(at(row, "reason")) == reason) {
      row["quantity"] = whole(at(row, "quantity")) + quantity;
      return writer.alter("tally", std::move(row));
    }
  writer.add(works::kind_of_table("tally"),
             {{"inspection", inspection}, {"reason", reason}, {"quantity", quantity}});
}

}  // namespace

std::optional<Row> open_inspection(Reader& reader, const Looked& of) {
  for (Row& row : reader.standing("inspection", "run", of.run))
    if (whole(at(row, "looked")) == 0 && text(at(row, "spindle")) == of.spindle)
      return std::move(row);
  return std::nullopt;
}

std::int64_t tallied(Reader& reader, const std::string& inspection) {
  std::int64_t sum = 0;
  for (const Row& row : reader.standing("tally", "inspection", inspection))
    sum += whole(at(row, "quantity"));
  return sum;
}

Result<Rejected> reject_discs(const Desk& desk, const Reject& reject) {
  if (reject.quantity < 1) return Error{Fault::bad_input, "quantity: at least one disc is bad"};
  const auto reason =
      read_field(*works::find_field(works::kind_of_table("tally"), "reason"), reject.reason);
  if (!reason) return reason.error();
  Rejected done;
  const std::string what = fmt::format("inspect: {}", reject.reason);
  const auto head = desk.record.write(desk.act(what, reject.of.run), [&](Writer& writer) {
    need_named(writer, reject.of);
    const std::int64_t before = all_there(writer, reject.of);
    if (before < reject.quantity)
      refuse(before == 0 ? Fault::not_found : Fault::conflict,
             fmt::format("{} discs of {} are to be looked at {}, not {}",
                         before,
                         reject.of.run,
                         reject.of.spindle.empty() ? "there" : "on " + reject.of.spindle,
                         reject.quantity));
    post_from(writer, reject.of, reject.quantity, {Place::scrap, "", reject.reason, {}});
    done.inspection = inspection_of(writer, reject.of);
    tally(writer, done.inspection, reject.reason, reject.quantity);
    done.left = before - reject.quantity;
  });
  if (!head) return head.error();
  done.head = *head;
  return done;
}

Result<Passed> pass_rest(const Desk& desk,
                         const Looked& of,
                         const std::optional<std::int64_t>& counted) {
  Passed done;
  const auto head = desk.record.write(desk.act("inspect: rest good", of.run), [&](Writer& writer) {
    need_named(writer, of);
    done.good = all_there(writer, of);
    const bool begun = open_inspection(writer, of).has_value();
    if (done.good == 0 && !begun)
      refuse(Fault::not_found,
             fmt::format("nothing of {} is to be looked at {}",
                         of.run,
                         of.spindle.empty() ? "there" : "on " + of.spindle));
    if (counted && *counted != done.good)
      refuse(Fault::conflict,
             fmt::format("{} good discs counted, and the ledger holds {} there: count again, or "
                         "enter which were taken off",
                         *counted,
                         done.good));
    post_from(writer, of, done.good, {Place::good_stock, of.spindle, "", {}});
    done.inspection = inspection_of(writer, of);
    done.rejected = tallied(writer, done.inspection);
    Row row = writer.need("inspection", done.inspection);
    row["looked"] = done.good + done.rejected;
    writer.alter("inspection", std::move(row));
  });
  if (!head) return head.error();
  done.head = *head;
  return done;
}

}  // namespace goodside::line
