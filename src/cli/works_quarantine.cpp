#include <fmt/format.h>

#include <algorithm>
#include <climits>

#include "cli/commands.hpp"
#include "cli/works_open.hpp"
#include "intake/safe_file.hpp"
#include "json/trace_report.hpp"
#include "line/keep_record.hpp"
#include "line/quarantine.hpp"

namespace goodside::cli {
namespace {

std::string counted(std::int64_t n, std::string_view thing) {
  return fmt::format("{} {}{}", n, thing, n == 1 ? "" : "s");
}

std::string listed(const std::vector<std::string>& codes) {
  constexpr std::size_t most = 4;
  std::string text;
  for (std::size_t i = 0; i < std::min(most, codes.size()); ++i)
    text += (i == 0 ? "" : ", ") + codes[i];
  return codes.size() > most ? text + fmt::format(" and {} more", codes.size() - most) : text;
}

std::string headline(const line::Quarantined& done, bool try_only) {
  if (done.movements.empty())
    return "Nothing to hold: of these no disc is in the house that is not suspect already\n";
  return try_only ? fmt::format("Would hold {} as suspect; nothing was entered\n",
                                counted(done.discs, "disc"))
                  : fmt::format("{} held as suspect\n", counted(done.discs, "disc"));
}

std::string told(const line::Quarantined& done, const line::SuspectOrder& order, bool try_only) {
  std::string text = headline(done, try_only) + fmt::format("  for {}\n", order.reason);
  std::int64_t packed = 0;
  for (const auto& movement : done.movements)
    if (movement.from.place == works::Place::packed) packed += movement.quantity;
  if (packed > 0)
    text += fmt::format("  {:>7} in {}: {}\n",
                        packed,
                        counted(static_cast<std::int64_t>(done.cartons.size()), "carton"),
                        listed(done.cartons));
  if (done.discs > packed) text += fmt::format("  {:>7} not yet packed\n", done.discs - packed);
  if (done.kept > 0)
    text += fmt::format(
        "  {:>7} waited for a sample; they stay suspect now, whatever is heard of it\n", done.kept);
  if (done.already > 0) text += fmt::format("  {:>7} suspect from before\n", done.already);
  for (const auto& shipment : done.shipped)
    text += fmt::format("  {:>7} at most left with {}{}{}: call them back\n",
                        shipment.discs,
                        shipment.shipment.empty() ? "no shipment on record" : shipment.shipment,
                        shipment.to.empty() ? "" : ", " + shipment.to,
                        shipment.cartons.empty() ? "" : " (" + listed(shipment.cartons) + ")");
  for (const auto& run : done.uncounted)
    text += fmt::format(
        "  run {} does not tell which impressions of the title it pressed: look with\n"
        "          `goodside works where {}`\n",
        run,
        run);
  return text;
}

json::Node node_of(const line::Quarantined& done, const line::SuspectOrder& order) {
  json::Node::List movements, shipped, impressions;
  for (const auto& range : order.impressions)
    impressions.push_back(json::Node::List{range.first, range.last});
  for (const auto& movement : done.movements)
    movements.push_back(json::Node::Object{
        {"run", movement.run},
        {"impressions", json::Node::List{movement.impressions.first, movement.impressions.last}},
        {"quantity", movement.quantity},
        {"from", std::string{word(movement.from.place)}},
        {"at", movement.from.at.empty() ? json::Node{} : json::Node{movement.from.at}}});
  const auto codes = [](const std::vector<std::string>& all) {
    json::Node::List list;
    for (const auto& one : all) list.emplace_back(one);
    return list;
  };
  for (const auto& one : done.shipped)
    shipped.push_back(json::Node::Object{
        {"shipment", one.shipment.empty() ? json::Node{} : json::Node{one.shipment}},
        {"to", one.to.empty() ? json::Node{} : json::Node{one.to}},
        {"cartons", codes(one.cartons)},
        {"discs", one.discs}});
  return json::Node::Object{{"side", order.side},
                            {"fault", static_cast<std::int64_t>(order.fault)},
                            {"reason", order.reason},
                            {"impressions", std::move(impressions)},
                            {"discs", done.discs},
                            {"kept", done.kept},
                            {"already", done.already},
                            {"cartons", codes(done.cartons)},
                            {"shipped", std::move(shipped)},
                            {"gone", done.gone},
                            {"uncounted", codes(done.uncounted)},
                            {"movements", std::move(movements)},
                            {"head", done.head ? as_node(*done.head) : json::Node{}}};
}

/// After a hold the whole record is proved; a break is our own fault or the store's, and is told.
Result<std::string> proof(OpenWorks& works, const line::Quarantined& done) {
  if (!done.head) return std::string{};
  const auto checked = line::check_record(works.desk.record, {});
  if (!checked) return checked.error();
  if (!checked->closes())
    return Error{Fault::io, "the count does not close: " + checked->breaks.front()};
  return "The count closes. " + noted(*done.head) +
         fmt::format("Take it back with `goodside works reverse {} --reason \"…\"`.\n",
                     done.head->seq);
}

int run_quarantine(const Args& args, Console& console) {
  const auto text = intake::read_whole(args.text("trace"), std::size_t{256} << 20);
  if (!text) return console.refuse(text.error());
  const auto trace = json::read_trace(*text);
  if (!trace)
    return console.refuse({trace.error().fault, args.text("trace") + ": " + trace.error().text});
  const auto fault = args.read("--fault", count_number);
  if (!fault) return console.refuse(fault.error());
  std::string side;
  if (args.given("--side")) {
    auto code = args.read("--side", code_text);
    if (!code) return console.refuse(code.error());
    side = std::move(*code);
  }
  const auto order =
      line::suspect_order(*trace, static_cast<int>(std::min<std::int64_t>(*fault, INT_MAX)), side);
  if (!order) return console.refuse(order.error());
  const bool try_only = args.given("--dry-run");
  return in_works(args, console, [&](OpenWorks& works) {
    const auto done = line::quarantine(works.desk, *order, try_only);
    if (!done) return console.refuse(done.error());
    const auto proved = proof(works, *done);
    if (!proved) return console.refuse(proved.error());
    return answer(args, console, told(*done, *order, try_only) + *proved, node_of(*done, *order));
  });
}

}  // namespace

Command works_quarantine_command() {
  return {.name = "works quarantine",
          .help = "Holds what a trace calls suspect, over all runs; lists what was shipped.",
          .example =
              "goodside trace --works . --side SD-0001-A --json trace.json\n"
              "goodside works quarantine trace.json --fault 1 --dry-run\n\n"
              "Would hold 189 discs as suspect; nothing was entered",
          .options = with_works_options(
              {{.name = "trace",
                .value = "TRACE",
                .help = "What `goodside trace --json` wrote.",
                .required = true},
               {.name = "--fault",
                .value = "N",
                .help = "The recurring fault's id in it.",
                .required = true},
               {.name = "--side",
                .value = "CODE",
                .help = "The side, where the trace is of a family file."},
               {.name = "--dry-run", .help = "Count discs, cartons, shipments; move nothing."}}),
          .run = run_quarantine};
}

}  // namespace goodside::cli
