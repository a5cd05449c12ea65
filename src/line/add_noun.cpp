#include "line/add_noun.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "dispatch/gs1.hpp"
#include "dispatch/isrc.hpp"
#include "line/part_life.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::or_refuse;
using ledger::Refused;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;

void fill_part(Writer& writer, Row& row) {
  const auto kind = works::read_part_kind(text(at(row, "kind")));
  if (!kind) throw Refused{kind.error()};
  const bool wet = *kind == works::PartKind::lacquer || *kind == works::PartKind::wax;
  if (text(at(row, "origin")).empty()) row["origin"] = wet ? "bought" : "grown";
  const bool grown = text(at(row, "origin")) == "grown";
  if (*kind == works::PartKind::stamper) row["presses"] = std::int64_t{1};
  row["face"] = std::int64_t{0};
  if (grown && !ledger::is_null(at(row, "state")))
    throw Refused{{Fault::bad_input,
                   "state: a part that is grown begins as growing; leave it out, or give "
                   "origin=bought or origin=card"}};
  const std::string parent = text(at(row, "parent"));
  if (grown && parent.empty())
    throw Refused{{Fault::bad_input,
                   fmt::format("a {} that is grown needs parent=…; for metal from elsewhere give "
                               "origin=bought",
                               word(*kind))}};
  if (!parent.empty()) {
    const auto facts = parent_facts(writer, parent);
    if (grown)
      if (const auto may = works::may_grow(*kind, facts.parent); !may) throw Refused{may.error()};
    for (const char* inherited : {"side", "cut"})
      if (ledger::is_null(at(row, inherited))) row[inherited] = at(facts.row, inherited);
    if (ledger::is_null(at(row, "grown"))) row["grown"] = facts.parent.children + 1;
  }
  if (ledger::is_null(at(row, "state"))) row["state"] = grown ? "growing" : "ready";
  if (ledger::is_null(at(row, "side")) && ledger::is_null(at(row, "cut")))
    throw Refused{{Fault::bad_input, "a part needs side=…, cut=… or parent=…"}};
  if (ledger::is_null(at(row, "side")))
    row["side"] = at(writer.need("cut", text(at(row, "cut"))), "side");
}

Result<std::string> named(const std::string& field, Result<std::string> read) {
  if (read) return read;
  return Error{read.error().fault, field + ": " + read.error().text};
}

/// What the row names besides its order must be of that order.
void same_order(Writer& writer, const Row& row, const char* field) {
  const std::string code = text(at(row, field));
  if (code.empty()) return;
  const std::string order = text(at(writer.need(field, code), "order"));
  if (order != text(at(row, "order")))
    throw Refused{
        {Fault::conflict,
         fmt::format("{} is of order {}, not of {}", code, order, text(at(row, "order")))}};
}

/// The parts of an order for its places are no more than the customer takes.
void fit_delivery(Writer& writer, const Row& row) {
  const Row order = writer.need("orders", text(at(row, "order")));
  std::int64_t sum = whole(at(row, "quantity"));
  if (sum < 1) throw Refused{{Fault::bad_input, "quantity: a delivery is of at least one disc"}};
  for (const Row& other : writer.standing("delivery", "order", text(at(row, "order"))))
    sum += whole(at(other, "quantity"));
  const std::int64_t most = std::max(whole(at(order, "quantity")), whole(at(order, "most")));
  if (sum > most)
    throw Refused{{Fault::conflict,
                   fmt::format("the deliveries of {} would be {} discs together, and it is for {}",
                               text(at(row, "order")),
                               sum,
                               most)}};
}

/// Each code that the row names must be there, and not taken back.
void need_all_named(Writer& writer, const works::Kind& kind, const Row& row) {
  for (const works::Field& field : kind.fields)
    if (field.type == works::Field::Type::code)
      if (const std::string code = text(at(row, field.name)); !code.empty())
        static_cast<void>(writer.need(field.refers_to, code));
}

}  // namespace

std::string add_within(Writer& writer, const works::Kind& kind, Row row) {
  need_all_named(writer, kind, row);
  if (kind.table == "part") fill_part(writer, row);
  if (kind.table == "run") {
    row["title"] = at(writer.need("orders", text(at(row, "order"))), "title");
    if (ledger::is_null(at(row, "purpose"))) row["purpose"] = "production";
  }
  if (kind.table == "carton") {
    row["state"] = "open";
    if (whole(at(row, "capacity")) < 1)
      throw Refused{{Fault::bad_input, "capacity: a carton holds at least one disc"}};
  }
  if (kind.table == "shipment") {
    row["state"] = "open";
    same_order(writer, row, "delivery");
  }
  if (kind.table == "pallet") row["state"] = "open";
  if (kind.table == "title" && !ledger::is_null(at(row, "gtin")))
    row["gtin"] = or_refuse(named("gtin", dispatch::read_gtin(text(at(row, "gtin")))));
  if (kind.table == "track" && !ledger::is_null(at(row, "isrc")))
    row["isrc"] = or_refuse(named("isrc", dispatch::read_isrc(text(at(row, "isrc")))));
  if (kind.table == "delivery") fit_delivery(writer, row);
  if (kind.table == "orders" && !ledger::is_null(at(row, "most")) &&
      whole(at(row, "most")) < whole(at(row, "quantity")))
    throw Refused{{Fault::bad_input, "most: the customer takes at least the quantity ordered"}};
  if (kind.table == "orders" && whole(at(row, "quantity")) < 1)
    throw Refused{{Fault::bad_input, "quantity: an order is for at least one disc"}};
  if (kind.table == "complaint" && ledger::is_null(at(row, "nature"))) row["nature"] = "complaint";
  if (kind.table == "capture" && ledger::is_null(at(row, "after"))) row["after"] = "as found";
  std::erase_if(row, [](const auto& cell) { return ledger::is_null(cell.second); });
  return writer.add(kind, std::move(row));
}

Result<Entered> add_noun(const Desk& desk, const works::Kind& kind, const Typed& typed) {
  if (!kind.by_hand)
    return Error{Fault::bad_input,
                 fmt::format("a {} is not entered by `add`; `goodside works --help` lists the verb "
                             "that makes it",
                             kind.name)};
  const auto row = read_fields(kind, typed, false);
  if (!row) return row.error();
  Entered entered;
  const auto head =
      desk.record.write(desk.act(fmt::format("add {}", kind.name)),
                        [&](Writer& writer) { entered.code = add_within(writer, kind, *row); });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

}  // namespace goodside::line
