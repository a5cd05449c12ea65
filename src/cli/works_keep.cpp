#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/progress_bar.hpp"
#include "cli/works_open.hpp"
#include "line/card_index.hpp"
#include "line/instants.hpp"
#include "line/keep_record.hpp"

namespace goodside::cli {
namespace {

std::string head_text(const ledger::Head& head) {
  return fmt::format("{}:{}", head.seq, head.hash.substr(0, 16));
}

std::string checked_text(const ledger::Checked& checked) {
  std::string out =
      checked.closes()
          ? fmt::format("The count closes: {} impressions in {} runs, every disc in one place.\n",
                        checked.impressions,
                        checked.runs)
          : fmt::format("{} breaks found.\n",
                        static_cast<std::int64_t>(checked.breaks.size()) + checked.more_breaks);
  for (const std::string& text : checked.breaks) out += "  ▲ " + text + "\n";
  if (checked.more_breaks > 0) out += fmt::format("  … and {} more\n", checked.more_breaks);
  for (const auto& [place, discs] : checked.places)
    out += fmt::format("  {:>11} {}\n", discs, place);
  out += fmt::format("{} entries, {} rows and {} movements are what the log says.\n",
                     checked.entries,
                     checked.rows,
                     checked.movements);
  if (!checked.closes()) out.erase(out.rfind("\n", out.size() - 2) + 1);
  return out + fmt::format("Head {}: note it; `check --head` finds a log whose tail was cut.\n",
                           head_text(checked.head));
}

json::Node checked_node(const ledger::Checked& checked) {
  json::Node::Object places;
  for (const auto& [place, discs] : checked.places) places.emplace_back(place, discs);
  json::Node::List breaks;
  for (const std::string& text : checked.breaks) breaks.emplace_back(text);
  return json::Node::Object{{"closes", checked.closes()},
                            {"entries", checked.entries},
                            {"rows", checked.rows},
                            {"movements", checked.movements},
                            {"runs", checked.runs},
                            {"impressions", checked.impressions},
                            {"places", std::move(places)},
                            {"breaks", std::move(breaks)},
                            {"more_breaks", checked.more_breaks},
                            {"head", as_node(checked.head)}};
}

int run_check(const Args& args, Console& console) {
  const auto since = args.maybe("--since", line::read_instant);
  if (!since) return console.refuse(since.error());
  return in_works(args, console, [&](OpenWorks& works) {
    ledger::CheckOptions options{.known_head = {}, .since_ms = *since};
    if (args.given("--head")) {
      const auto head = line::read_head(works.desk.record, args.text("--head"));
      if (!head) return console.refuse(head.error());
      options.known_head = *head;
    }
    ProgressBar bar{console.err(), console.progress(), "checking"};
    options.progress = [&](double share) { bar.show(share); };
    const auto checked = line::check_record(works.desk.record, options);
    if (!checked) return console.refuse(checked.error());
    return answer(args,
                  console,
                  checked_text(*checked),
                  checked_node(*checked),
                  checked->closes() ? Exit::within_limits : Exit::outside_limits);
  });
}

int run_backup(const Args& args, Console& console) {
  return in_works(args, console, [&](OpenWorks& works) {
    const auto head = line::back_up(works.desk.record, args.text("file"));
    if (!head) return console.refuse(head.error());
    return answer(
        args,
        console,
        fmt::format("{} holds the record up to head {}; note the head apart from the file.\n"
                    "Captures and reports are files beside the record: copy them too.\n",
                    args.text("file"),
                    head_text(*head)),
        json::Node::Object{{"file", args.text("file")}, {"head", as_node(*head)}});
  });
}

int run_restore(const Args& args, Console& console) {
  // The record may be damaged, so it is not opened first.
  const auto folder = works_folder(args);
  if (!folder) return console.refuse(folder.error());
  const auto place = line::read_works_place(*folder);
  if (!place) return console.refuse(place.error());
  const auto checked = line::restore(args.text("file"), place->store);
  if (!checked) return console.refuse(checked.error());
  return answer(args,
                console,
                fmt::format("{} is in place.\n{}", args.text("file"), checked_text(*checked)),
                checked_node(*checked),
                checked->closes() ? Exit::within_limits : Exit::outside_limits);
}

int run_export(const Args& args, Console& console) {
  if (args.given("--csv") == args.given("file"))
    return console.refuse(
        {Fault::bad_input, "give a file for the JSON lines, or --csv DIR, one of them"});
  return in_works(args, console, [&](OpenWorks& works) {
    if (args.given("--csv")) {
      if (const auto done = line::export_tables(works.desk.record, args.text("--csv")); !done)
        return console.refuse(done.error());
      return answer(args,
                    console,
                    fmt::format("A CSV file a table is in {}.\n", args.text("--csv")),
                    json::Node::Object{{"folder", args.text("--csv")}});
    }
    const auto head = line::export_lines(works.desk.record, args.text("file"));
    if (!head) return console.refuse(head.error());
    return answer(
        args,
        console,
        fmt::format("{} entries in {}, head {}.\n", head->seq, args.text("file"), head_text(*head)),
        json::Node::Object{{"file", args.text("file")}, {"head", as_node(*head)}});
  });
}

int run_import(const Args& args, Console& console) {
  return in_works(args, console, [&](OpenWorks& works) {
    const auto head = line::import_lines(works.desk.record, args.text("file"));
    if (!head) return console.refuse(head.error());
    return answer(
        args,
        console,
        fmt::format(
            "{} entries taken over; the head is the same, {}.\n", head->seq, head_text(*head)),
        json::Node::Object{{"head", as_node(*head)}});
  });
}

int run_cards(const Args& args, Console& console) {
  return in_works(args, console, [&](OpenWorks& works) {
    const auto cards =
        line::take_cards(works.desk, args.text("kind"), args.text("file"), args.given("--dry-run"));
    if (!cards) return console.refuse(cards.error());
    std::string out;
    json::Node::List bad;
    for (const line::BadCell& cell : cards->bad) {
      if (bad.size() < 200)
        out += fmt::format("{}:{}: {}{}\n",
                           args.text("file"),
                           cell.line,
                           cell.column.empty() ? "" : cell.column + ": ",
                           cell.text);
      bad.push_back(
          json::Node::Object{{"line", cell.line}, {"column", cell.column}, {"text", cell.text}});
    }
    if (bad.size() > 200)
      out += fmt::format("… and {} more; --json has them all\n", bad.size() - 200);
    if (!cards->bad.empty())
      out += fmt::format(
          "{} of {} rows cannot be taken; nothing was entered.\n", cards->bad_rows, cards->rows);
    else if (args.given("--dry-run"))
      out += fmt::format("All {} rows can be taken; nothing was entered yet.\n", cards->rows);
    else
      out += fmt::format("{} rows entered.\n{}", cards->rows, noted(cards->head));
    return answer(args,
                  console,
                  out,
                  json::Node::Object{{"rows", cards->rows},
                                     {"bad", std::move(bad)},
                                     {"entered", cards->entered},
                                     {"head", as_node(cards->head)}},
                  cards->bad.empty() ? Exit::within_limits : Exit::unusable);
  });
}

}  // namespace

std::vector<Command> works_keep_commands() {
  return {
      {.name = "works check",
       .help = "Proves the record against its log: tampering, loss, and that the count closes.",
       .example = "goodside works check --head 41:3f0a91c2\n\nThe count closes: 500 impressions in "
                  "1 runs, every disc in one place.",
       .options = with_works_options(
           {{.name = "--head", .value = "N:HASH", .help = "As noted on a paper or with a backup."},
            {.name = "--since",
             .value = "WHEN",
             .help = "Only what was entered since, and the runs it touches."}}),
       .run = run_check},
      {.name = "works backup",
       .help = "A consistent copy of the record while others write.",
       .example = "goodside works backup /media/store/record-2026-11-25.db",
       .options = with_works_options(
           {{.name = "file", .value = "FILE", .help = "Not there yet.", .required = true}}),
       .run = run_backup},
      {.name = "works restore",
       .help = "Puts a backup in the record's place, keeps the old one beside, and checks.",
       .example = "goodside works restore /media/store/record-2026-11-25.db",
       .options = with_works_options({{.name = "file",
                                       .value = "FILE",
                                       .help = "From `works backup` or `works export`.",
                                       .required = true}}),
       .run = run_restore},
      {.name = "works export",
       .help = "The whole record as JSON lines, or as a CSV file a table.",
       .example = "goodside works export record.jsonl\ngoodside works export --csv tables",
       .options =
           with_works_options({{.name = "file", .value = "FILE", .help = "For the JSON lines."},
                               {.name = "--csv", .value = "DIR", .help = "For the tables."}}),
       .run = run_export},
      {.name = "works import",
       .help = "Takes an export into an empty record of either store: the same head comes out.",
       .example = "goodside works import record.jsonl",
       .options = with_works_options(
           {{.name = "file", .value = "FILE", .help = "From `works export`.", .required = true}}),
       .run = run_import},
      {.name = "works cards",
       .help = "Takes a works' own card index from CSV: parts, runs, discs, or any other noun.",
       .example = "goodside works cards part parts.csv --dry-run\n\nparts.csv:7: parent: there is "
                  "no part P-00001-Q",
       .options =
           with_works_options({{.name = "kind",
                                .value = "KIND",
                                .help = "part, run, discs, title, mounting …",
                                .required = true},
                               {.name = "file",
                                .value = "FILE",
                                .help = "CSV; the first line names the fields, `code` among them "
                                        "where the cards have one.",
                                .required = true},
                               {.name = "--dry-run",
                                .help = "List every bad row by line and column; enter nothing."}}),
       .run = run_cards},
  };
}

}  // namespace goodside::cli
