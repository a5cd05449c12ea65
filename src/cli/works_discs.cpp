#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/say_moved.hpp"
#include "cli/works_open.hpp"
#include "line/close_units.hpp"
#include "line/plan_packing.hpp"
#include "line/ship_order.hpp"

namespace goodside::cli {
namespace {

Result<line::Choice> read_choice(const Args& args, bool places) {
  line::Choice choice;
  auto run = args.read("run", code_text);
  if (!run) return run.error();
  choice.run = std::move(*run);
  const auto impressions = args.maybe("--impressions", impression_range);
  if (!impressions) return impressions.error();
  choice.impressions = *impressions;
  if (!places) return choice;
  const auto quantity = args.maybe("--quantity", count_number);
  const auto place = args.maybe("--from", works::read_place);
  const auto at = args.maybe("--from-spot", code_text);
  if (!quantity) return quantity.error();
  if (!place) return place.error();
  if (!at) return at.error();
  choice.quantity = *quantity;
  if (*place) choice.places = {**place};
  choice.at = at->value_or("");
  return choice;
}

int run_move(const Args& args, Console& console) {
  const auto choice = read_choice(args, true);
  if (!choice) return console.refuse(choice.error());
  const auto to = args.read("to", works::read_place);
  if (!to) return console.refuse(to.error());
  const auto spot = args.maybe("--to-spot", code_text);
  if (!spot) return console.refuse(spot.error());
  return in_works(args, console, [&](OpenWorks& works) {
    return say_moved(
        args,
        console,
        fmt::format("moved to {}", word(*to)),
        line::move_discs(
            works.desk, *choice, {*to, spot->value_or(""), args.text("--reason"), {}}));
  });
}

int run_hold(const Args& args, Console& console) {
  const auto choice = read_choice(args, true);
  if (!choice) return console.refuse(choice.error());
  return in_works(args, console, [&](OpenWorks& works) {
    return say_moved(
        args, console, "held as suspect", line::hold(works.desk, *choice, args.text("--reason")));
  });
}

int run_release(const Args& args, Console& console) {
  auto choice = read_choice(args, false);
  if (!choice) return console.refuse(choice.error());
  choice->reason = args.text("--reason");
  return in_works(args, console, [&](OpenWorks& works) {
    return say_moved(
        args, console, "let go, back to what they were", line::release(works.desk, *choice));
  });
}

int run_recount(const Args& args, Console& console) {
  auto choice = read_choice(args, true);
  if (!choice) return console.refuse(choice.error());
  const auto counted = args.read("counted", count_number);
  if (!counted) return console.refuse(counted.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto moved = line::recount(works.desk, *choice, *counted, args.text("--reason"));
    return say_moved(
        args,
        console,
        moved && moved->movements.empty() ? "differ: the count agrees" : "differ from the ledger",
        moved);
  });
}

int run_take_back(const Args& args, Console& console) {
  const auto choice = read_choice(args, true);
  if (!choice) return console.refuse(choice.error());
  return in_works(args, console, [&](OpenWorks& works) {
    return say_moved(args,
                     console,
                     "came back, suspect until heard",
                     line::take_back(works.desk, *choice, args.text("--reason")));
  });
}

int run_close(const Args& args, Console& console) {
  const auto unit = args.read("carton", code_text);
  if (!unit) return console.refuse(unit.error());
  const auto counted = args.read("counted", count_number);
  if (!counted) return console.refuse(counted.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto rules = line::dispatch_rules(works.place.folder);
    if (!rules) return console.refuse(rules.error());
    const auto closed = line::close_unit(works.desk,
                                         {.unit = *unit,
                                          .counted = *counted,
                                          .part = args.given("--part"),
                                          .company_prefix = rules->company_prefix});
    if (!closed) return console.refuse(closed.error());
    return answer(args, console, closed_text(*unit, *closed), closed_node(*unit, *closed));
  });
}

int run_ship(const Args& args, Console& console) {
  const auto shipment = args.read("shipment", code_text);
  if (!shipment) return console.refuse(shipment.error());
  const auto units = code_list(args.all("cartons"));
  if (!units) return console.refuse(units.error());
  return in_works(args, console, [&](OpenWorks& works) {
    return say_moved(args, console, "shipped", line::ship(works.desk, *shipment, *units));
  });
}

Option run_option() {
  return {.name = "run", .value = "RUN", .help = "Its code.", .required = true};
}
Option impressions_option() {
  return {.name = "--impressions", .value = "A-B", .help = "Of the run; without it all."};
}
std::vector<Option> choice_options() {
  return {
      impressions_option(),
      {.name = "--quantity", .value = "N", .help = "So many of them; without it all."},
      {.name = "--from",
       .value = "PLACE",
       .help = "pressed, edge-finished, good, suspect, packed …"},
      {.name = "--from-spot", .value = "CODE", .help = "A spindle or carton that they come from."}};
}
std::vector<Option> joined(std::vector<Option> first, const std::vector<Option>& more) {
  first.insert(first.end(), more.begin(), more.end());
  return first;
}

}  // namespace

std::vector<Command> works_disc_commands() {
  const Option reason{.name = "--reason", .value = "TEXT", .help = "Why."};
  Option needed_reason = reason;
  needed_reason.required = true;
  return {
      {.name = "works move",
       .help = "Discs go from one place to another: edge-finished, good, packed, scrap.",
       .example = "goodside works move R-00001-9 good --impressions 1-240\n\n240 discs moved to "
                  "good stock",
       .options = with_works_options(
           joined(joined({run_option(),
                          {.name = "to",
                           .value = "PLACE",
                           .help = "edge-finished, good, packed, scrap, pressed.",
                           .required = true}},
                         choice_options()),
                  {{.name = "--to-spot",
                    .value = "CODE",
                    .help = "The carton (packed) or spindle they go to."},
                   reason})),
       .run = run_move},
      {.name = "works hold",
       .help = "Quarantine: everything that may be among these impressions is suspect.",
       .example = "goodside works hold R-00001-9 --impressions 412-600 --reason \"tick\"\n\n189 "
                  "discs held as suspect",
       .options =
           with_works_options(joined(joined({run_option()}, choice_options()), {needed_reason})),
       .run = run_hold},
      {.name = "works release",
       .help = "Suspect discs go back to what they were.",
       .example = "goodside works release R-00001-9 --impressions 412-500\n\n89 discs let go, back "
                  "to what they were",
       .options = with_works_options(
           {run_option(),
            impressions_option(),
            {.name = "--reason", .value = "TEXT", .help = "Only what was held for this reason."}}),
       .run = run_release},
      {.name = "works recount",
       .help = "Somebody counted: the difference is posted, and the ledger still closes.",
       .example = "goodside works recount R-00001-9 238 --from good --reason \"shelf\"\n\n2 discs "
                  "differ from the ledger",
       .options = with_works_options(joined(joined({run_option(),
                                                    {.name = "counted",
                                                     .value = "N",
                                                     .help = "Discs that are there.",
                                                     .required = true}},
                                                   choice_options()),
                                            {needed_reason})),
       .run = run_recount},
      {.name = "works close",
       .help = "A carton is closed when its count agrees with the ledger.",
       .example = "goodside works close K-000001-S 25\n\n25 discs in K-000001-S, which is closed",
       .options = with_works_options(
           {{.name = "carton", .value = "CARTON", .help = "Its code.", .required = true},
            {.name = "counted", .value = "N", .help = "Discs counted in it.", .required = true},
            {.name = "--part", .help = "It is meant to be a part carton."}}),
       .run = run_close},
      {.name = "works ship",
       .help = "Closed cartons leave with a shipment.",
       .example = "goodside works ship SH-0001-U K-000001-S K-000002-Q\n\n50 discs shipped",
       .options = with_works_options(
           {{.name = "shipment", .value = "SHIPMENT", .help = "Its code.", .required = true},
            {.name = "cartons",
             .value = "CARTON",
             .help = "Their codes.",
             .required = true,
             .many = true}}),
       .run = run_ship},
      {.name = "works return",
       .help = "Discs that a customer sent back: suspect until heard.",
       .example = "goodside works return R-00001-9 --from-spot K-000001-S --reason Q-0001-H\n\n25 "
                  "discs came back, suspect until heard",
       .options =
           with_works_options(joined(joined({run_option()}, choice_options()), {needed_reason})),
       .run = run_take_back},
  };
}

}  // namespace goodside::cli
