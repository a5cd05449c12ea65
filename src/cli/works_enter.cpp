#include <fmt/format.h>

#include <ostream>

#include "cli/commands.hpp"
#include "cli/works_open.hpp"
#include "cli/wrap.hpp"
#include "line/add_noun.hpp"
#include "line/instants.hpp"
#include "line/part_life.hpp"
#include "line/reverse_entry.hpp"

namespace goodside::cli {
namespace {

Result<line::Typed> typed_fields(const std::vector<std::string>& words) {
  line::Typed typed;
  for (const std::string& word : words) {
    const auto equals = word.find('=');
    if (equals == std::string::npos || equals == 0)
      return Error{
          Fault::bad_input,
          fmt::format("\"{}\" is no field; write name=value, with quotes around spaces, such "
                      "as name=\"Fallen Leaves\"",
                      word.substr(0, 40))};
    typed.emplace_back(word.substr(0, equals), word.substr(equals + 1));
  }
  return typed;
}

int run_init(const Args& args, Console& console) {
  line::NewWorks works{.folder = args.text("folder"),
                       .name = args.text("--name"),
                       .zone = args.text("--zone"),
                       .store = args.text("--store"),
                       .patterns = args.all("--code")};
  const auto head = line::make_works(works, writer_name(args), now_utc_ms());
  if (!head) return console.refuse(head.error());
  return answer(
      args,
      console,
      fmt::format("{} is a works folder now: goodside.toml, the record, captures, reports, "
                  "papers.\n{}\nNext: goodside works add title name=… --in {}\n",
                  works.folder,
                  noted(*head),
                  works.folder),
      json::Node::Object{{"folder", works.folder}, {"head", as_node(*head)}});
}

std::string field_line(const works::Field& field) {
  std::string name{field.name}, what;
  const std::string_view unit = field.type == works::Field::Type::instant ? "ms" : field.unit;
  if (!unit.empty()) name.resize(name.size() - unit.size() - 1);
  switch (field.type) {
    case works::Field::Type::code:
      what = fmt::format("code of a {}", works::kind_of_table(field.refers_to).name);
      break;
    case works::Field::Type::choice: {
      what = field.choices;
      for (auto at = what.find('|'); at != std::string::npos; at = what.find('|', at))
        what.replace(at, 1, ", ");
      break;
    }
    case works::Field::Type::whole:
      what = "whole number";
      break;
    case works::Field::Type::quantity:
      what = "with its unit";
      break;
    case works::Field::Type::instant:
      what = "date";
      break;
    case works::Field::Type::flag:
      what = "yes or no";
      break;
    case works::Field::Type::text:
      break;
  }
  std::string text{field.help};
  if (!what.empty()) text = what + (text.empty() ? "" : "; " + text);
  if (field.required) text += text.empty() ? "needed" : " (needed)";
  return text.empty() ? fmt::format("  {}=\n", name)
                      : fmt::format("  {:<20}{}\n", name + "=", text);
}

int run_kinds(const Args& args, Console& console) {
  if (!args.given("kind")) {
    for (const works::Kind& kind : works::kinds())
      if (kind.by_hand) console.out() << fmt::format("  {:<14}{}\n", kind.name, kind.help);
    console.out() << "\n`goodside works kinds KIND` lists the fields of one.\n";
    return 0;
  }
  const auto kind = works::find_kind(args.text("kind"));
  if (!kind) return console.refuse(kind.error());
  console.out() << fmt::format("{}: {}\n\n", (*kind)->name, (*kind)->help);
  for (const works::Field& field : (*kind)->fields)
    if (!field.own) console.out() << field_line(field);
  console.out() << field_line({.name = "note", .help = "anything else"})
                << field_line({.name = "at_ms",
                               .help = "when it was; without it now",
                               .type = works::Field::Type::instant});
  return 0;
}

int run_add(const Args& args, Console& console) {
  const auto kind = works::find_kind(args.text("kind"));
  if (!kind) return console.refuse(kind.error());
  const auto typed = typed_fields(args.all("fields"));
  if (!typed) return console.refuse(typed.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto entered = line::add_noun(works.desk, **kind, *typed);
    if (!entered) return console.refuse(entered.error());
    return answer(args,
                  console,
                  fmt::format("{} {}\n{}", (*kind)->name, entered->code, noted(entered->head)),
                  json::Node::Object{{"code", entered->code}, {"head", as_node(entered->head)}});
  });
}

int run_log(const Args& args, Console& console) {
  const auto part = args.read("part", code_text);
  const auto step = args.read("step", works::read_step);
  const auto at = args.maybe("--at", line::read_instant);
  const auto typed = typed_fields(args.all("readings"));
  if (!part) return console.refuse(part.error());
  if (!step) return console.refuse(step.error());
  if (!at) return console.refuse(at.error());
  if (!typed) return console.refuse(typed.error());
  line::StepDone done{.part = *part, .step = *step, .note = args.text("--note"), .at_ms = *at};
  if (const auto fit = line::fit_text(done.note); !fit) return console.refuse(fit.error());
  for (const auto& [name, said] : *typed) {
    auto reading = line::read_reading(name, said);
    if (!reading) return console.refuse(reading.error());
    done.readings.push_back(std::move(*reading));
  }
  return in_works(args, console, [&](OpenWorks& works) {
    const auto entered = line::log_step(works.desk, done);
    if (!entered) return console.refuse(entered.error());
    std::string state;
    int face = 0;
    const auto asked = works.desk.record.read([&](ledger::Reader& reader) {
      const auto row = reader.need("part", done.part);
      state = ledger::text(ledger::at(row, "state"));
      face = static_cast<int>(ledger::whole(ledger::at(row, "face")));
    });
    if (!asked) return console.refuse(asked.error());
    return answer(args,
                  console,
                  fmt::format("{} {}: {}; it is {} now\n{}",
                              entered->code,
                              done.part,
                              word(done.step),
                              state,
                              noted(entered->head)),
                  json::Node::Object{{"step", entered->code},
                                     {"part", done.part},
                                     {"state", state},
                                     {"face", std::int64_t{face}},
                                     {"head", as_node(entered->head)}});
  });
}

int run_reverse(const Args& args, Console& console) {
  const auto seq = args.read("entry", count_number);
  if (!seq) return console.refuse(seq.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto head = line::reverse_entry(works.desk, *seq, args.text("--reason"));
    if (!head) return console.refuse(head.error());
    return answer(args,
                  console,
                  fmt::format("Entry {} is taken back.\n{}", *seq, noted(*head)),
                  json::Node::Object{{"reversed", *seq}, {"head", as_node(*head)}});
  });
}

}  // namespace

std::vector<Command> works_enter_commands() {
  return {
      {.name = "works init",
       .help = "Makes a works folder with an empty record.",
       .example = R"(goodside works init tarnholt --name Tarnholt --zone Europe/London

tarnholt is a works folder now: goodside.toml, the record, captures, reports,
papers.)",
       .options = {{.name = "folder",
                    .value = "DIR",
                    .help = "Made where it is not there.",
                    .required = true},
                   {.name = "--name", .value = "NAME", .help = "Of the works.", .required = true},
                   {.name = "--zone",
                    .value = "ZONE",
                    .help = "In which dates and times are shown.",
                    .fallback = "UTC"},
                   {.name = "--store",
                    .value = "WHERE",
                    .help = "A file in the folder, or postgresql://user@host/database.",
                    .fallback = "record.db"},
                   {.name = "--code",
                    .value = "KIND=PATTERN",
                    .help = "How codes of a noun look: # for the number, ? at the end for the "
                            "check character, such as part=ST-#####-?.",
                    .many = true},
                   {.name = "--by",
                    .value = "NAME",
                    .help = "Who enters this; without it your user name."},
                   {.name = "--json",
                    .value = "FILE",
                    .help = "The answer as JSON; - for standard output."}},
       .run = run_init},
      {.name = "works kinds",
       .help = "What the record keeps, and the fields of each noun.",
       .example = "goodside works kinds batch\n\nbatch: One mix of compound.\n  material=  "
                  "(needed)\n  mass=      with its unit; Of the whole mix.",
       .options = {{.name = "kind", .value = "KIND", .help = "One of them."}},
       .run = run_kinds},
      {.name = "works add",
       .help = "Enters a title, side, cut, order, part, batch, run, carton …",
       .example =
           "goodside works add batch material=vinyl colour=black mass=\"25 kg\"\n\nbatch B-0001-G",
       .options = with_works_options({{.name = "kind",
                                       .value = "KIND",
                                       .help = "`goodside works kinds` lists them.",
                                       .required = true},
                                      {.name = "fields",
                                       .value = "FIELD=VALUE",
                                       .help = "`goodside works kinds KIND` lists them.",
                                       .many = true}}),
       .run = run_add},
      {.name = "works log",
       .help = "Enters what was done to a part, with readings.",
       .example = "goodside works log P-00003-M grown thickness=\"212 um\" "
                  "current=\"95\"\n\nW-000004-3 P-00003-M: grown; it is growing now",
       .options = with_works_options(
           {{.name = "part", .value = "PART", .help = "Its code.", .required = true},
            {.name = "step",
             .value = "STEP",
             .help = "silvered, passivated, grown, separated, faced, chromium-stripped, backed, "
                     "washed, centred, punched, trimmed, inspected, failed-inspection, "
                     "washed-on-press, repaired, horns-removed, ticks-removed, withdrawn, "
                     "taken-back, scrapped.",
             .required = true},
            {.name = "readings",
             .value = "NAME=VALUE",
             .help = "Figures with their units, or words.",
             .many = true},
            {.name = "--note", .value = "TEXT", .help = "Why, or anything else."},
            {.name = "--at", .value = "WHEN", .help = "When it was done; without it now."}}),
       .run = run_log},
      {.name = "works reverse",
       .help = "Takes back an entry made by mistake; nothing is deleted.",
       .example = "goodside works reverse 41 --reason \"wrong run\"\n\nEntry 41 is taken back.",
       .options = with_works_options(
           {{.name = "entry",
             .value = "N",
             .help = "`goodside works events` lists them.",
             .required = true},
            {.name = "--reason", .value = "TEXT", .help = "Why.", .required = true}}),
       .run = run_reverse},
  };
}

}  // namespace goodside::cli
