#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/say_moved.hpp"
#include "line/fill_cartons.hpp"
#include "line/plan_packing.hpp"
#include "line/repack.hpp"
#include "line/unit_contents.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

/// The code of a unit, or its SSCC as scanned.
Result<std::string> unit_word(OpenWorks& works, const std::string& typed) {
  return line::unit_of(works.desk.record, typed);
}

Result<std::string> maybe_code(const Args& args, const char* name) {
  const auto code = args.maybe(name, code_text);
  if (!code) return code.error();
  return code->value_or("");
}

int run_fill(const Args& args, Console& console) {
  const auto from = args.read("from", code_text);
  const auto per = args.read("--per", count_number);
  const auto impressions = args.maybe("--impressions", impression_range);
  const auto quantity = args.maybe("--quantity", count_number);
  const auto spindle = maybe_code(args, "--spindle");
  if (!from) return console.refuse(from.error());
  if (!per) return console.refuse(per.error());
  if (!impressions) return console.refuse(impressions.error());
  if (!quantity) return console.refuse(quantity.error());
  if (!spindle) return console.refuse(spindle.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto filled = line::fill_cartons(works.desk,
                                           {.from = *from,
                                            .per_carton = *per,
                                            .impressions = *impressions,
                                            .quantity = *quantity,
                                            .spindle = *spindle,
                                            .part = args.given("--part")});
    if (!filled) return console.refuse(filled.error());
    std::string text = fmt::format("{} discs in {} carton{}; {} good discs stay in stock\n",
                                   filled->discs,
                                   filled->cartons.size(),
                                   filled->cartons.size() == 1 ? "" : "s",
                                   filled->left);
    json::Node::List cartons;
    for (const auto& carton : filled->cartons) {
      std::string ranges;
      json::Node::List movements;
      for (const auto& movement : carton.movements) {
        const auto& [first, last] = movement.impressions;
        ranges += fmt::format("{}{} {}–{}{}{}",
                              ranges.empty() ? "" : ", ",
                              movement.run,
                              first,
                              last,
                              movement.quantity == movement.impressions.width()
                                  ? ""
                                  : fmt::format(" ({} of them)", movement.quantity),
                              movement.from.at.empty() ? "" : " off " + movement.from.at);
        movements.push_back(json::Node::Object{
            {"run", movement.run},
            {"impressions",
             json::Node::List{movement.impressions.first, movement.impressions.last}},
            {"quantity", movement.quantity},
            {"spindle", movement.from.at.empty() ? json::Node{} : json::Node{movement.from.at}}});
      }
      if (cartons.size() < 12)
        text += fmt::format("  {}  {:>4}  {}\n", carton.code, carton.discs, ranges);
      cartons.push_back(json::Node::Object{
          {"carton", carton.code}, {"discs", carton.discs}, {"from", std::move(movements)}});
    }
    if (cartons.size() > 12)
      text += fmt::format("  … and {} more; --json has them all\n", cartons.size() - 12);
    text += "Next: count each carton, then `goodside pack close CARTON COUNTED`.\n";
    return answer(args,
                  console,
                  text + noted(filled->head),
                  json::Node::Object{{"discs", filled->discs},
                                     {"left", filled->left},
                                     {"cartons", std::move(cartons)},
                                     {"head", as_node(filled->head)}});
  });
}

int run_close(const Args& args, Console& console) {
  const auto counted = args.read("counted", count_number);
  const auto weighed = args.maybe("--weighed", units::mass_kg);
  if (!counted) return console.refuse(counted.error());
  if (!weighed) return console.refuse(weighed.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto unit = unit_word(works, args.text("unit"));
    if (!unit) return console.refuse(unit.error());
    const auto rules = line::dispatch_rules(works.place.folder);
    if (!rules) return console.refuse(rules.error());
    const auto closed = line::close_unit(works.desk,
                                         {.unit = *unit,
                                          .counted = *counted,
                                          .part = args.given("--part"),
                                          .weighed_kg = *weighed,
                                          .lifting_limit_kg = rules->lifting_limit_kg,
                                          .company_prefix = rules->company_prefix});
    if (!closed) return console.refuse(closed.error());
    return answer(args, console, closed_text(*unit, *closed), closed_node(*unit, *closed));
  });
}

int run_open(const Args& args, Console& console) {
  return in_works(args, console, [&](OpenWorks& works) {
    const auto unit = unit_word(works, args.text("unit"));
    if (!unit) return console.refuse(unit.error());
    const auto head = line::open_unit(works.desk, *unit, args.text("--reason"));
    if (!head) return console.refuse(head.error());
    return answer(
        args,
        console,
        fmt::format("{} is open; take its label off, its number is void\n{}", *unit, noted(*head)),
        json::Node::Object{{"unit", *unit}, {"head", as_node(*head)}});
  });
}

Result<line::TakeOut> read_take_out(const Args& args) {
  line::TakeOut out;
  auto run = maybe_code(args, "--run");
  const auto impressions = args.maybe("--impressions", impression_range);
  const auto quantity = args.maybe("--quantity", count_number);
  if (!run) return run.error();
  if (!impressions) return impressions.error();
  if (!quantity) return quantity.error();
  out.run = std::move(*run);
  out.impressions = *impressions;
  out.quantity = *quantity;
  return out;
}

int run_take_out(const Args& args, Console& console) {
  auto out = read_take_out(args);
  if (!out) return console.refuse(out.error());
  auto carton = maybe_code(args, "--to");
  auto spindle = maybe_code(args, "--spindle");
  if (!carton) return console.refuse(carton.error());
  if (!spindle) return console.refuse(spindle.error());
  if (!carton->empty() && !spindle->empty())
    return console.refuse(
        {Fault::bad_input, "discs go into a carton or onto a spindle; give --to or --spindle"});
  out->to_carton = std::move(*carton);
  out->to_spindle = std::move(*spindle);
  return in_works(args, console, [&](OpenWorks& works) {
    auto unit = unit_word(works, args.text("carton"));
    if (!unit) return console.refuse(unit.error());
    out->carton = std::move(*unit);
    return say_moved(
        args, console, "taken out of " + out->carton, line::take_out(works.desk, *out));
  });
}

int run_split(const Args& args, Console& console) {
  auto out = read_take_out(args);
  if (!out) return console.refuse(out.error());
  if (!out->quantity && !out->impressions)
    return console.refuse({Fault::bad_input, "say which discs go: --quantity or --impressions"});
  return in_works(args, console, [&](OpenWorks& works) {
    auto unit = unit_word(works, args.text("carton"));
    if (!unit) return console.refuse(unit.error());
    out->carton = std::move(*unit);
    const auto split = line::split_carton(works.desk, *out);
    if (!split) return console.refuse(split.error());
    return say_moved(args, console, "now in " + split->code + ", which is open", split->moved);
  });
}

int run_pull(const Args& args, Console& console) {
  const auto impressions = args.maybe("--impressions", impression_range);
  const auto spindle = maybe_code(args, "--spindle");
  if (!impressions) return console.refuse(impressions.error());
  if (!spindle) return console.refuse(spindle.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto from = unit_word(works, args.text("from"));
    if (!from) return console.refuse(from.error());
    const auto pulled = line::pull_suspects(
        works.desk, {.from = *from, .impressions = *impressions, .to_spindle = *spindle});
    if (!pulled) return console.refuse(pulled.error());
    std::string text = fmt::format("{} suspect discs pulled out of {} carton{}\n",
                                   pulled->discs,
                                   pulled->cartons.size(),
                                   pulled->cartons.size() == 1 ? "" : "s");
    json::Node::List cartons;
    for (const auto& carton : pulled->cartons) {
      if (cartons.size() < 20)
        text += fmt::format("  {}  {:>4} out, {:>4} left{}\n",
                            carton.code,
                            carton.out,
                            carton.left,
                            carton.opened ? "; it was closed and is open: its label is void" : "");
      cartons.push_back(json::Node::Object{{"carton", carton.code},
                                           {"out", carton.out},
                                           {"left", carton.left},
                                           {"opened", carton.opened}});
    }
    if (cartons.size() > 20)
      text += fmt::format("  … and {} more; --json has them all\n", cartons.size() - 20);
    return answer(args,
                  console,
                  text + noted(pulled->head),
                  json::Node::Object{{"discs", pulled->discs},
                                     {"cartons", std::move(cartons)},
                                     {"head", as_node(pulled->head)}});
  });
}

int run_stack(const Args& args, Console& console) {
  const auto order = args.read("order", code_text);
  if (!order) return console.refuse(order.error());
  const auto cartons = code_list(args.all("cartons"));
  if (!cartons) return console.refuse(cartons.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto pallet = line::stack_pallet(works.desk, *order, *cartons);
    if (!pallet) return console.refuse(pallet.error());
    return answer(args,
                  console,
                  fmt::format("pallet {} with {} cartons; count them, then `pack close {} {}`\n{}",
                              pallet->code,
                              cartons->size(),
                              pallet->code,
                              cartons->size(),
                              noted(pallet->head)),
                  json::Node::Object{{"code", pallet->code},
                                     {"cartons", static_cast<std::int64_t>(cartons->size())},
                                     {"head", as_node(pallet->head)}});
  });
}

int run_unstack(const Args& args, Console& console) {
  const auto cartons = code_list(args.all("cartons"));
  if (!cartons) return console.refuse(cartons.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto head = line::unstack(works.desk, *cartons);
    if (!head) return console.refuse(head.error());
    return answer(args,
                  console,
                  fmt::format("{} carton{} off the pallet\n{}",
                              cartons->size(),
                              cartons->size() == 1 ? "" : "s",
                              noted(*head)),
                  json::Node::Object{{"cartons", static_cast<std::int64_t>(cartons->size())},
                                     {"head", as_node(*head)}});
  });
}

int run_show(const Args& args, Console& console) {
  return in_works(args, console, [&](OpenWorks& works) {
    const auto code = unit_word(works, args.text("unit"));
    if (!code) return console.refuse(code.error());
    const auto unit = line::unit_contents(works.desk.record, *code);
    if (!unit) return console.refuse(unit.error());
    std::string text = fmt::format("{} {} is {}: {} discs of order {}\n",
                                   unit->kind,
                                   unit->code,
                                   unit->state.empty() ? "open" : unit->state,
                                   unit->discs(),
                                   unit->order);
    if (!unit->sscc.empty()) text += fmt::format("  SSCC (00){}\n", unit->sscc);
    if (!unit->to.empty()) text += fmt::format("  to {}\n", unit->to);
    json::Node::List cartons;
    for (const auto& carton : unit->cartons) {
      const std::string spindles = spindles_text(carton);
      text += fmt::format("  {}  {:>4} of {:<4} {:<7} {}{}\n",
                          carton.code,
                          carton.discs,
                          carton.capacity,
                          carton.state,
                          ranges_text(carton),
                          spindles.empty() ? "" : ", off " + spindles);
      json::Node::List lines;
      for (const auto& line : carton.lines) {
        json::Node::List off;
        for (const std::string& spindle : line.spindles) off.emplace_back(spindle);
        lines.push_back(json::Node::Object{{"run", line.run},
                                           {"holding", line::as_node(line.holding)},
                                           {"spindles", std::move(off)}});
      }
      cartons.push_back(json::Node::Object{
          {"carton", carton.code},
          {"state", carton.state},
          {"sscc", carton.sscc.empty() ? json::Node{} : json::Node{carton.sscc}},
          {"pallet", carton.pallet.empty() ? json::Node{} : json::Node{carton.pallet}},
          {"shipment", carton.shipment.empty() ? json::Node{} : json::Node{carton.shipment}},
          {"capacity", carton.capacity},
          {"discs", carton.discs},
          {"gross_kg", carton.gross_kg ? json::Node{*carton.gross_kg} : json::Node{}},
          {"contents", std::move(lines)}});
    }
    return answer(
        args,
        console,
        text,
        json::Node::Object{{"kind", unit->kind},
                           {"code", unit->code},
                           {"order", unit->order},
                           {"state", unit->state},
                           {"sscc", unit->sscc.empty() ? json::Node{} : json::Node{unit->sscc}},
                           {"discs", unit->discs()},
                           {"cartons", std::move(cartons)}});
  });
}

std::vector<Option> discs_of_carton() {
  return {{.name = "carton", .value = "CARTON", .help = "Its code or SSCC.", .required = true},
          {.name = "--quantity", .value = "N", .help = "So many of them."},
          {.name = "--impressions", .value = "A-B", .help = "These of the run."},
          {.name = "--run", .value = "RUN", .help = "Where the carton holds discs of several."}};
}

}  // namespace

std::vector<Command> pack_carton_commands() {
  auto out_options = discs_of_carton();
  out_options.push_back(
      {.name = "--to", .value = "CARTON", .help = "An open carton that they go into."});
  out_options.push_back({.name = "--spindle",
                         .value = "SPINDLE",
                         .help = "Without it and --to: good stock on none."});
  return {
      {.name = "pack fill",
       .help = "Good stock goes into new cartons, in the order of its impressions.",
       .example = "goodside pack fill O-0001-7 --per 25\n\n250 discs in 10 cartons; 7 good discs "
                  "stay in stock",
       .options = with_works_options(
           {{.name = "from",
             .value = "ORDER|RUN",
             .help = "All its runs, or one.",
             .required = true},
            {.name = "--per", .value = "N", .help = "Discs to a carton.", .required = true},
            {.name = "--quantity",
             .value = "N",
             .help = "So many discs; without it all that are good."},
            {.name = "--impressions", .value = "A-B", .help = "Of the run."},
            {.name = "--spindle", .value = "SPINDLE", .help = "Only what stands on it."},
            {.name = "--part", .help = "What does not fill a carton goes into a last, part one."}}),
       .run = run_fill},
      {.name = "pack close",
       .help = "A carton or pallet is closed when its count agrees with the ledger.",
       .example = "goodside pack close K-000001-S 25 --weighed 6.6kg\n\n25 discs in K-000001-S, "
                  "which is closed",
       .options = with_works_options(
           {{.name = "unit", .value = "CARTON|PALLET", .help = "Its code.", .required = true},
            {.name = "counted",
             .value = "N",
             .help = "Discs counted in the carton, cartons counted on the pallet.",
             .required = true},
            {.name = "--part", .help = "It is meant to be a part carton."},
            {.name = "--weighed",
             .value = "MASS",
             .help = "Gross; held against the lifting limit."}}),
       .run = run_close},
      {.name = "pack open",
       .help = "Opens a closed carton or pallet to pack it again; its number is void.",
       .example = "goodside pack open K-000001-S --reason \"wrong sleeves\"\n\nK-000001-S is open; "
                  "take its "
                  "label off, its number is void",
       .options = with_works_options(
           {{.name = "unit",
             .value = "CARTON|PALLET",
             .help = "Its code or SSCC.",
             .required = true},
            {.name = "--reason", .value = "TEXT", .help = "Why.", .required = true}}),
       .run = run_open},
      {.name = "pack take-out",
       .help = "Discs leave an open carton for another, or for good stock.",
       .example = "goodside pack take-out K-000001-S --quantity 5 --to K-000002-Q\n\n5 discs taken "
                  "out of K-000001-S",
       .options = with_works_options(std::move(out_options)),
       .run = run_take_out},
      {.name = "pack split",
       .help = "A new carton takes some of the discs of an open one.",
       .example = "goodside pack split K-000001-S --quantity 10\n\n10 discs now in K-000005-K, "
                  "which is open",
       .options = with_works_options(discs_of_carton()),
       .run = run_split},
      {.name = "pack pull",
       .help = "Suspect discs are pulled out of the cartons that they were packed in.",
       .example = "goodside pack pull R-00001-9 --impressions 412-600\n\n189 suspect discs pulled "
                  "out of 9 cartons",
       .options = with_works_options(
           {{.name = "from",
             .value = "ORDER|RUN|CARTON",
             .help = "Where they are.",
             .required = true},
            {.name = "--impressions",
             .value = "A-B",
             .help = "Of the run; without it all that is suspect."},
            {.name = "--spindle", .value = "SPINDLE", .help = "Where they are put."}}),
       .run = run_pull},
      {.name = "pack stack",
       .help = "Closed cartons of an order are put on a new pallet.",
       .example = "goodside pack stack O-0001-7 K-000001-S K-000002-Q\n\npallet PA-0001-L with 2 "
                  "cartons; count them, then `pack close PA-0001-L 2`",
       .options = with_works_options(
           {{.name = "order", .value = "ORDER", .help = "Its code.", .required = true},
            {.name = "cartons",
             .value = "CARTON",
             .help = "Their codes.",
             .required = true,
             .many = true}}),
       .run = run_stack},
      {.name = "pack unstack",
       .help = "Cartons are taken off their pallet; it is opened by it.",
       .example = "goodside pack unstack K-000002-Q\n\n1 carton off the pallet",
       .options = with_works_options({{.name = "cartons",
                                       .value = "CARTON",
                                       .help = "Their codes.",
                                       .required = true,
                                       .many = true}}),
       .run = run_unstack},
      {.name = "pack show",
       .help = "What is in a carton, pallet or shipment: runs, impressions, spindles.",
       .example = "goodside pack show K-000001-S\n\ncarton K-000001-S is closed: 25 discs of order "
                  "O-0001-7",
       .options = with_works_options({{.name = "unit",
                                       .value = "CARTON|PALLET|SHIPMENT",
                                       .help = "Its code or SSCC.",
                                       .required = true}}),
       .run = run_show},
  };
}

}  // namespace goodside::cli
