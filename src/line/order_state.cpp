#include "line/order_state.hpp"

#include <fmt/format.h>

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

std::int64_t number(Reader& reader, const std::string& question, const std::string& code) {
  return whole(reader.connection().ask(question, {code})[0][0]);
}

}  // namespace

DeliveryState delivery_state(Reader& reader, const Row& delivery) {
  DeliveryState state{.code = text(at(delivery, "code")),
                      .to = text(at(delivery, "to")),
                      .count = {},
                      .due_ms = whole(at(delivery, "due_ms"))};
  state.count.ordered = whole(at(delivery, "quantity"));
  state.count.most = state.count.ordered;
  state.count.shipped =
      number(reader,
             "SELECT sum(h.quantity) FROM holding h JOIN carton c ON c.code = h.at JOIN "
             "shipment s ON s.code = c.shipment WHERE s.delivery = $1 AND h.place = "
             "'shipped'",
             state.code);
  for (const Row& credit : reader.standing("credit", "delivery", state.code))
    state.count.credited += whole(at(credit, "quantity"));
  return state;
}

OrderState order_state(Reader& reader, const std::string& code) {
  const Row order = reader.need("orders", code);
  OrderState state{.code = code,
                   .title = text(at(order, "title")),
                   .customer = text(at(order, "customer")),
                   .count = {},
                   .places = {},
                   .deliveries = {},
                   .shipments = {}};
  state.count.ordered = whole(at(order, "quantity"));
  state.count.most = std::max(state.count.ordered, whole(at(order, "most")));
  for (const auto& cell :
       reader.connection().ask("SELECT h.place, sum(h.quantity) FROM holding h JOIN run r ON "
                               "r.code = h.run WHERE r.\"order\" = "
                               "$1 GROUP BY h.place ORDER BY h.place",
                               {code})) {
    const std::string place = text(cell[0]);
    const std::int64_t discs = whole(cell[1]);
    state.places.emplace_back(place, discs);
    if (place == "shipped") state.count.shipped = discs;
    if (place == "packed") state.packed = discs;
  }
  for (const Row& credit : reader.standing("credit", "order", code))
    state.count.credited += whole(at(credit, "quantity"));
  for (const Row& delivery : reader.standing("delivery", "order", code))
    state.deliveries.push_back(delivery_state(reader, delivery));
  for (const Row& shipment : reader.standing("shipment", "order", code)) {
    if (text(at(shipment, "state")) != "gone") continue;
    const std::string name = text(at(shipment, "code"));
    state.shipments.push_back(
        {.code = name,
         .to = text(at(shipment, "to")),
         .carrier = text(at(shipment, "carrier")),
         .cartons = static_cast<std::int64_t>(reader.standing("carton", "shipment", name).size()),
         .discs =
             number(reader,
                    "SELECT sum(h.quantity) FROM holding h JOIN carton c ON c.code = h.at WHERE "
                    "c.shipment = $1 AND h.place = 'shipped'",
                    name),
         .at_ms = whole(at(shipment, "at_ms"))});
  }
  return state;
}

Result<OrderState> order_state(ledger::Record& record, const std::string& order) {
  OrderState state;
  const auto asked = record.read([&](Reader& reader) { state = order_state(reader, order); });
  if (!asked) return asked.error();
  return state;
}

}  // namespace goodside::line
