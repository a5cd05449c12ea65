#include "line/ship_order.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "line/order_state.hpp"
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
using works::Spot;

std::vector<std::string> runs_at(Reader& reader, const std::string& spot) {
  std::vector<std::string> runs;
  for (const auto& cell : reader.connection().ask(
           "SELECT DISTINCT run FROM holding WHERE at = $1 ORDER BY run", {spot}))
    runs.push_back(text(cell[0]));
  return runs;
}

/// Refuses a shipment that would send more than is owed.
void check_owed(Writer& writer, const Row& shipment, std::int64_t discs) {
  const std::string order = text(at(shipment, "order"));
  const auto fits = [&](const dispatch::OrderCount& count, const std::string& whose) {
    if (const auto may = dispatch::may_ship(count, discs); !may)
      refuse(may.error().fault, whose + ": " + may.error().text);
  };
  fits(order_state(writer, order).count, order);
  if (const std::string delivery = text(at(shipment, "delivery")); !delivery.empty())
    fits(delivery_state(writer, writer.need("delivery", delivery)).count, delivery);
}

/// The cartons that the units are, each once.
std::vector<std::string> cartons_of(Writer& writer,
                                    const std::string& shipment,
                                    const std::vector<std::string>& units) {
  std::vector<std::string> cartons;
  std::set<std::string> pallets;
  for (const std::string& code : units) {
    if (writer.find("carton", code)) {
      cartons.push_back(code);
      continue;
    }
    if (!writer.find("pallet", code))
      refuse(Fault::not_found, fmt::format("there is no carton or pallet {}", code));
    Row pallet = writer.need("pallet", code);
    if (const std::string state = text(at(pallet, "state")); state != "closed")
      refuse(Fault::conflict,
             fmt::format("pallet {} is {}; only a closed one is shipped", code, state));
    pallet["state"] = "gone";
    pallet["shipment"] = shipment;
    writer.alter("pallet", pallet);
    pallets.insert(code);
    for (const Row& carton : writer.standing("carton", "pallet", code))
      cartons.push_back(text(at(carton, "code")));
  }
  std::set<std::string> once;
  for (const std::string& code : cartons) {
    if (!once.insert(code).second)
      refuse(Fault::bad_input, fmt::format("carton {} is named twice", code));
    const std::string pallet = text(at(writer.need("carton", code), "pallet"));
    if (!pallet.empty() && !pallets.contains(pallet))
      refuse(Fault::conflict,
             fmt::format("carton {} stands on pallet {}; ship the pallet, or `goodside pack "
                         "unstack` the carton",
                         code,
                         pallet));
  }
  return cartons;
}

void ship_carton(Writer& writer,
                 const std::string& shipment,
                 const Row& row,
                 const std::string& code,
                 Moved& moved) {
  Row carton = writer.need("carton", code);
  if (const std::string state = text(at(carton, "state")); state != "closed")
    refuse(Fault::conflict,
           fmt::format("carton {} is {}; only a closed one is shipped", code, state));
  if (text(at(carton, "order")) != text(at(row, "order")))
    refuse(Fault::conflict,
           fmt::format("carton {} is for order {}, and shipment {} for {}",
                       code,
                       text(at(carton, "order")),
                       shipment,
                       text(at(row, "order"))));
  for (const std::string& run : runs_at(writer, code)) {
    const auto held = writer.stock(run).holdings();
    if (std::any_of(held.begin(), held.end(), [&](const works::Holding& holding) {
          return holding.spot.place == Place::suspect && holding.spot.at == code;
        }))
      refuse(Fault::conflict,
             fmt::format("carton {} holds suspect discs of {}; it cannot leave before they are "
                         "released or taken out",
                         code,
                         run));
    auto movements = or_refuse(choose_stock(
        writer.stock(run), {.run = run, .places = {Place::packed}, .at = code}, [&](const Spot&) {
          return Spot{Place::shipped, code, "", {}};
        }));
    post_all(writer, movements);
    moved.discs += discs_of(movements);
    moved.movements.insert(moved.movements.end(), movements.begin(), movements.end());
  }
  carton["state"] = "gone";
  carton["shipment"] = shipment;
  writer.alter("carton", carton);
}

}  // namespace

Result<Moved> ship(const Desk& desk,
                   const std::string& shipment,
                   const std::vector<std::string>& units) {
  Moved moved;
  const auto head = desk.record.write(desk.act("ship", shipment), [&](Writer& writer) {
    moved = {};
    Row row = writer.need("shipment", shipment);
    if (text(at(row, "state")) == "gone")
      refuse(Fault::conflict,
             fmt::format("shipment {} has left; enter another for what follows", shipment));
    const auto cartons = cartons_of(writer, shipment, units);
    std::int64_t discs = 0;
    for (const std::string& code : cartons) discs += discs_at(writer, code, Place::packed);
    check_owed(writer, row, discs);
    for (const std::string& code : cartons) ship_carton(writer, shipment, row, code, moved);
    row["state"] = "gone";
    writer.alter("shipment", row);
  });
  if (!head) return head.error();
  moved.head = *head;
  return moved;
}

namespace {

/// What of the house's shipped stock is meant, run by run.
std::vector<Choice> choices_of(Writer& writer, const Return& back) {
  Choice choice{.run = {},
                .impressions = back.impressions,
                .quantity = back.quantity,
                .places = {Place::shipped}};
  std::vector<Choice> choices;
  const auto add = [&](const std::string& run, const std::string& at_carton) {
    choice.run = run;
    choice.at = at_carton;
    choices.push_back(choice);
  };
  if (writer.find("run", back.from)) {
    add(back.from, "");
    return choices;
  }
  std::vector<std::string> cartons;
  if (writer.find("carton", back.from)) {
    cartons = {back.from};
  } else if (writer.find("shipment", back.from)) {
    for (const Row& row : writer.standing("carton", "shipment", back.from))
      cartons.push_back(text(at(row, "code")));
  } else if (writer.find("orders", back.from)) {
    for (const Row& row : writer.standing("carton", "order", back.from))
      cartons.push_back(text(at(row, "code")));
  } else {
    refuse(Fault::not_found,
           fmt::format("there is no carton, shipment, order or run {}", back.from));
  }
  for (const std::string& carton : cartons)
    for (const std::string& run : runs_at(writer, carton))
      if (discs_at(writer, carton, Place::shipped) > 0) add(run, carton);
  if (choices.size() > 1 && (back.quantity || back.impressions))
    refuse(Fault::bad_input,
           "a quantity or a range is of one carton or run; name the carton or the run that they "
           "came in");
  return choices;
}

}  // namespace

Result<Moved> return_units(const Desk& desk, const Return& back) {
  if (back.reason.empty())
    return Error{Fault::bad_input, "say why they came back; give --reason \"…\""};
  if (const auto fit = fit_text(back.reason); !fit) return fit.error();
  Moved moved;
  const auto head = desk.record.write(desk.act("take back", back.from), [&](Writer& writer) {
    moved = {};
    if (!back.to_spindle.empty()) static_cast<void>(writer.need("spindle", back.to_spindle));
    for (const Choice& choice : choices_of(writer, back)) {
      auto movements = or_refuse(choose_stock(writer.stock(choice.run), choice, [&](const Spot&) {
        return Spot{Place::suspect, back.to_spindle, back.reason, Place::good_stock};
      }));
      post_all(writer, movements);
      moved.discs += discs_of(movements);
      moved.movements.insert(moved.movements.end(), movements.begin(), movements.end());
    }
    if (moved.discs == 0)
      refuse(Fault::not_found, fmt::format("nothing of {} is out of the house", back.from));
  });
  if (!head) return head.error();
  moved.head = *head;
  return moved;
}

namespace {

/// The customer destroys discs of a carton instead of sending them back.
void destroy_there(Writer& writer, const Credit& credit) {
  const std::string& code = credit.destroyed_from;
  if (text(at(writer.need("carton", code), "order")) != credit.order)
    refuse(Fault::conflict, fmt::format("carton {} is not of order {}", code, credit.order));
  const auto runs = runs_at(writer, code);
  const std::int64_t there = discs_at(writer, code, Place::shipped);
  if (there < credit.quantity)
    refuse(Fault::conflict,
           fmt::format("carton {} left with {} discs that are still out, not {}",
                       code,
                       there,
                       credit.quantity));
  if (runs.size() > 1 && there != credit.quantity)
    refuse(
        Fault::conflict,
        fmt::format(
            "carton {} holds discs of several runs, so which are gone is not known; credit all {} "
            "of it, or take them back",
            code,
            there));
  for (const std::string& run : runs)
    post_all(
        writer,
        or_refuse(choose_stock(
            writer.stock(run),
            {.run = run,
             .quantity = runs.size() == 1 ? std::optional{credit.quantity} : std::nullopt,
             .places = {Place::shipped},
             .at = code},
            [&](const Spot&) {
              return Spot{Place::scrap, "", "destroyed at the customer's: " + credit.reason, {}};
            })));
}

}  // namespace

Result<Entered> credit_discs(const Desk& desk, const Credit& credit) {
  if (credit.reason.empty())
    return Error{Fault::bad_input, "say why they are credited; give --reason \"…\""};
  if (const auto fit = fit_text(credit.reason); !fit) return fit.error();
  if (credit.quantity < 1) return Error{Fault::bad_input, "at least one disc is credited"};
  Entered entered;
  const auto head = desk.record.write(desk.act("credit", credit.order), [&](Writer& writer) {
    static_cast<void>(writer.need("orders", credit.order));
    if (!credit.destroyed_from.empty()) destroy_there(writer, credit);
    const auto must_be_owed = [&](dispatch::OrderCount count, const std::string& whose) {
      // What was destroyed is out no more; the tables tell it only when the entry ends.
      if (!credit.destroyed_from.empty()) count.shipped -= credit.quantity;
      if (const auto may = dispatch::may_credit(count, credit.quantity); !may)
        refuse(may.error().fault, whose + ": " + may.error().text);
    };
    must_be_owed(order_state(writer, credit.order).count, credit.order);
    Row row{{"order", credit.order}, {"quantity", credit.quantity}, {"reason", credit.reason}};
    if (!credit.delivery.empty()) {
      const Row delivery = writer.need("delivery", credit.delivery);
      if (text(at(delivery, "order")) != credit.order)
        refuse(Fault::conflict,
               fmt::format("delivery {} is not of order {}", credit.delivery, credit.order));
      must_be_owed(delivery_state(writer, delivery).count, credit.delivery);
      row["delivery"] = credit.delivery;
    }
    if (!credit.complaint.empty())
      row["complaint"] = at(writer.need("complaint", credit.complaint), "code");
    entered.code = writer.add(works::kind_of_table("credit"), std::move(row));
  });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

Result<ledger::Head> agree_most(const Desk& desk,
                                const std::string& code,
                                std::int64_t most,
                                const std::string& words) {
  if (words.empty())
    return Error{Fault::bad_input, "say what was agreed and with whom; give --reason \"…\""};
  if (const auto fit = fit_text(words); !fit) return fit.error();
  return desk.record.write(desk.act("agree most: " + words, code), [&](Writer& writer) {
    Row order = writer.need("orders", code);
    const OrderState state = order_state(writer, code);
    if (most < state.count.ordered)
      refuse(Fault::bad_input,
             fmt::format("{} discs are ordered of {}; the customer takes at least these",
                         state.count.ordered,
                         code));
    if (most < state.count.shipped + state.count.credited)
      refuse(Fault::conflict,
             fmt::format("{} discs of {} have left or are credited; it cannot be fewer",
                         state.count.shipped + state.count.credited,
                         code));
    order["most"] = most;
    writer.alter("orders", order);
  });
}

}  // namespace goodside::line
