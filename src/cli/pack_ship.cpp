#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/say_moved.hpp"
#include "line/instants.hpp"
#include "line/order_state.hpp"
#include "line/ship_order.hpp"

namespace goodside::cli {
namespace {

Result<std::string> maybe_code(const Args& args, const char* name) {
  const auto code = args.maybe(name, code_text);
  if (!code) return code.error();
  return code->value_or("");
}

int run_ship(const Args& args, Console& console) {
  const auto shipment = args.read("shipment", code_text);
  if (!shipment) return console.refuse(shipment.error());
  return in_works(args, console, [&](OpenWorks& works) {
    std::vector<std::string> units;
    for (const std::string& typed : args.all("units")) {
      auto unit = line::unit_of(works.desk.record, typed);
      if (!unit) return console.refuse(unit.error());
      units.push_back(std::move(*unit));
    }
    return say_moved(args, console, "shipped", line::ship(works.desk, *shipment, units));
  });
}

int run_return(const Args& args, Console& console) {
  const auto impressions = args.maybe("--impressions", impression_range);
  const auto quantity = args.maybe("--quantity", count_number);
  const auto spindle = maybe_code(args, "--spindle");
  if (!impressions) return console.refuse(impressions.error());
  if (!quantity) return console.refuse(quantity.error());
  if (!spindle) return console.refuse(spindle.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto from = line::unit_of(works.desk.record, args.text("from"));
    if (!from) return console.refuse(from.error());
    return say_moved(args,
                     console,
                     "came back, suspect until heard",
                     line::return_units(works.desk,
                                        {.from = *from,
                                         .impressions = *impressions,
                                         .quantity = *quantity,
                                         .to_spindle = *spindle,
                                         .reason = args.text("--reason")}));
  });
}

int run_credit(const Args& args, Console& console) {
  const auto order = args.read("order", code_text);
  const auto quantity = args.read("quantity", count_number);
  const auto delivery = maybe_code(args, "--delivery");
  const auto complaint = maybe_code(args, "--complaint");
  const auto destroyed = maybe_code(args, "--destroyed");
  if (!order) return console.refuse(order.error());
  if (!quantity) return console.refuse(quantity.error());
  for (const auto* code : {&delivery, &complaint, &destroyed})
    if (!*code) return console.refuse(code->error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto entered = line::credit_discs(works.desk,
                                            {.order = *order,
                                             .reason = args.text("--reason"),
                                             .quantity = *quantity,
                                             .delivery = *delivery,
                                             .complaint = *complaint,
                                             .destroyed_from = *destroyed});
    if (!entered) return console.refuse(entered.error());
    return answer(args,
                  console,
                  fmt::format("credit {}: {} discs of {} are not owed any more\n{}",
                              entered->code,
                              *quantity,
                              *order,
                              noted(entered->head)),
                  json::Node::Object{{"code", entered->code}, {"head", as_node(entered->head)}});
  });
}

int run_agree(const Args& args, Console& console) {
  const auto order = args.read("order", code_text);
  const auto most = args.read("most", count_number);
  if (!order) return console.refuse(order.error());
  if (!most) return console.refuse(most.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto head = line::agree_most(works.desk, *order, *most, args.text("--reason"));
    if (!head) return console.refuse(head.error());
    return answer(
        args,
        console,
        fmt::format("Of {} the customer takes up to {} discs\n{}", *order, *most, noted(*head)),
        json::Node::Object{{"order", *order}, {"most", *most}, {"head", as_node(*head)}});
  });
}

std::string owed_line(const std::string& name, const dispatch::OrderCount& count) {
  return fmt::format("  {:<12} {:>7} ordered {:>7} shipped {:>5} credited {:>7} still owed\n",
                     name,
                     count.ordered,
                     count.shipped,
                     count.credited,
                     dispatch::still_owed(count));
}

json::Node owed_node(const dispatch::OrderCount& count) {
  return json::Node::Object{{"ordered", count.ordered},
                            {"most", std::max(count.most, count.ordered)},
                            {"shipped", count.shipped},
                            {"credited", count.credited},
                            {"still_owed", dispatch::still_owed(count)}};
}

int run_owed(const Args& args, Console& console) {
  const auto order = args.read("order", code_text);
  if (!order) return console.refuse(order.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto state = line::order_state(works.desk.record, *order);
    if (!state) return console.refuse(state.error());
    const std::int64_t owed = dispatch::still_owed(state->count);
    std::string text = owed == 0 ? fmt::format("Nothing of {} is owed any more\n", *order)
                                 : fmt::format("{} discs of {} are still owed\n", owed, *order);
    text += owed_line(*order, state->count);
    json::Node::List deliveries, shipments, places;
    for (const auto& delivery : state->deliveries) {
      text += owed_line(delivery.code, delivery.count) +
              fmt::format("               to {}\n", delivery.to);
      deliveries.push_back(json::Node::Object{
          {"code", delivery.code}, {"to", delivery.to}, {"count", owed_node(delivery.count)}});
    }
    for (const auto& shipment : state->shipments) {
      text += fmt::format("  {} on {}: {} discs out in {} cartons, to {}\n",
                          shipment.code,
                          line::shown_day(shipment.at_ms),
                          shipment.discs,
                          shipment.cartons,
                          shipment.to);
      shipments.push_back(json::Node::Object{{"code", shipment.code},
                                             {"to", shipment.to},
                                             {"cartons", shipment.cartons},
                                             {"discs", shipment.discs},
                                             {"at_ms", shipment.at_ms}});
    }
    std::int64_t made = 0;
    for (const auto& [place, discs] : state->places) {
      if (discs != 0) text += fmt::format("  {:>7} {}\n", discs, place);
      places.push_back(json::Node::Object{{"place", place}, {"discs", discs}});
      made += discs;
    }
    text += fmt::format("  {:>7} impressions in all, each disc in one place\n", made);
    return answer(args,
                  console,
                  text,
                  json::Node::Object{{"order", *order},
                                     {"count", owed_node(state->count)},
                                     {"deliveries", std::move(deliveries)},
                                     {"shipments", std::move(shipments)},
                                     {"places", std::move(places)},
                                     {"impressions", made}});
  });
}

}  // namespace

std::vector<Command> pack_ship_commands() {
  const Option reason{.name = "--reason", .value = "TEXT", .help = "Why.", .required = true};
  return {
      {.name = "pack ship",
       .help = "Closed cartons and pallets leave with a shipment, never more than is owed.",
       .example = "goodside pack ship SH-0001-U PA-0001-L\n\n1000 discs shipped",
       .options = with_works_options(
           {{.name = "shipment", .value = "SHIPMENT", .help = "Its code.", .required = true},
            {.name = "units",
             .value = "CARTON|PALLET",
             .help = "Codes or SSCCs.",
             .required = true,
             .many = true}}),
       .run = run_ship},
      {.name = "pack return",
       .help = "Discs that a customer sent back: suspect until heard, owed again until credited.",
       .example = "goodside pack return K-000001-S --reason \"tick, A\"\n\n25 discs came back, "
                  "suspect until heard",
       .options = with_works_options(
           {{.name = "from",
             .value = "CARTON|SHIPMENT|ORDER|RUN",
             .help = "What they left in.",
             .required = true},
            {.name = "--quantity",
             .value = "N",
             .help = "So many of the carton or run; without it all."},
            {.name = "--impressions", .value = "A-B", .help = "Of the run."},
            {.name = "--spindle", .value = "SPINDLE", .help = "Where they are put."},
            reason}),
       .run = run_return},
      {.name = "pack credit",
       .help = "Discs that came back, were destroyed there or never left are not owed any more.",
       .example =
           "goodside pack credit O-0001-7 25 --reason \"tick, A\"\n\ncredit CR-0001-4: 25 discs of "
           "O-0001-7 are not owed any more",
       .options = with_works_options(
           {{.name = "order", .value = "ORDER", .help = "Its code.", .required = true},
            {.name = "quantity", .value = "N", .help = "Discs.", .required = true},
            {.name = "--destroyed",
             .value = "CARTON",
             .help = "The customer destroys them; they left in this carton, and are scrap now."},
            {.name = "--delivery", .value = "DELIVERY", .help = "Whose they were."},
            {.name = "--complaint", .value = "COMPLAINT", .help = "What the customer said."},
            reason}),
       .run = run_credit},
      {.name = "pack agree",
       .help = "The customer takes more than was ordered, up to so many: an overrun.",
       .example = "goodside pack agree O-0001-7 2450 --reason \"Mrs Hill, by telephone\"\n\nOf "
                  "O-0001-7 the "
                  "customer takes up to 2450 discs",
       .options = with_works_options(
           {{.name = "order", .value = "ORDER", .help = "Its code.", .required = true},
            {.name = "most", .value = "N", .help = "Discs in all.", .required = true},
            reason}),
       .run = run_agree},
      {.name = "pack owed",
       .help = "What of an order has left, is credited, is still owed, and where the rest is.",
       .example = "goodside pack owed O-0001-7\n\n75 discs of O-0001-7 are still owed",
       .options = with_works_options(
           {{.name = "order", .value = "ORDER", .help = "Its code.", .required = true}}),
       .run = run_owed},
  };
}

}  // namespace goodside::cli
