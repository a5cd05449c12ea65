#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/works_open.hpp"
#include "line/instants.hpp"
#include "line/match_captures.hpp"
#include "line/sample_tickets.hpp"

namespace goodside::cli {
namespace {

int run_ticket(const Args& args, Console& console) {
  line::Pull pull{.run = {}, .reason = args.text("--reason"), .name = args.text("--name")};
  auto run = args.read("run", code_text);
  if (!run) return console.refuse(run.error());
  pull.run = std::move(*run);
  const auto which = args.maybe("impression", impression_range);
  const auto counter = args.maybe("--counter", count_number);
  const auto spindle = args.maybe("--spindle", code_text);
  const auto at = args.maybe("--at", line::read_instant);
  if (!which) return console.refuse(which.error());
  if (!counter) return console.refuse(counter.error());
  if (!spindle) return console.refuse(spindle.error());
  if (!at) return console.refuse(at.error());
  if (*which) {
    pull.first = (*which)->first;
    pull.last = (*which)->last;
  }
  pull.counter = *counter;
  pull.spindle = spindle->value_or("");
  pull.at_ms = *at;
  return in_works(args, console, [&](OpenWorks& works) {
    const auto pulled = line::pull_sample(works.desk, pull);
    if (!pulled) return console.refuse(pulled.error());
    const std::string range = pulled->first == pulled->last
                                  ? fmt::format("{}", pulled->first)
                                  : fmt::format("{}–{}", pulled->first, pulled->last);
    return answer(
        args,
        console,
        fmt::format("ticket {}: disc {} of {}; {} discs are suspect until it is heard\n{}",
                    pulled->entered.code,
                    range,
                    pull.run,
                    pulled->held,
                    noted(pulled->entered.head)),
        json::Node::Object{{"ticket", pulled->entered.code},
                           {"run", pull.run},
                           {"impressions", json::Node::List{pulled->first, pulled->last}},
                           {"held", pulled->held},
                           {"head", as_node(pulled->entered.head)}});
  });
}

int run_hear(const Args& args, Console& console) {
  line::Heard heard{.ticket = {},
                    .words = args.text("--words"),
                    .letter = args.text("--side"),
                    .version = GOODSIDE_VERSION};
  auto ticket = args.read("ticket", code_text);
  if (!ticket) return console.refuse(ticket.error());
  heard.ticket = std::move(*ticket);
  const bool by_report = args.given("--report");
  if (by_report == args.given("verdict"))
    return console.refuse({Fault::bad_input, "give good or bad, or --report FILE, one of them"});
  if (!by_report) {
    if (args.text("verdict") != "good" && args.text("verdict") != "bad")
      return console.refuse({Fault::bad_input, "the verdict is good or bad"});
    heard.good = args.text("verdict") == "good";
  }
  return in_works(args, console, [&](OpenWorks& works) {
    // The report's file is written only for a disc that is there.
    const auto asked = works.desk.record.read(
        [&](ledger::Reader& reader) { static_cast<void>(reader.need("ticket", heard.ticket)); });
    if (!asked) return console.refuse(asked.error());
    if (by_report) {
      auto kept = line::keep_report(args.text("--report"), works.place.folder, std::move(heard));
      if (!kept) return console.refuse(kept.error());
      heard = std::move(*kept);
    }
    const auto verdict = line::hear_sample(works.desk, heard);
    if (!verdict) return console.refuse(verdict.error());
    return answer(args,
                  console,
                  fmt::format("{} is {}; {} discs are let go\n{}",
                              heard.ticket,
                              heard.good ? "good" : "bad",
                              verdict->released,
                              noted(verdict->head)),
                  json::Node::Object{{"ticket", heard.ticket},
                                     {"good", heard.good},
                                     {"released", verdict->released},
                                     {"capture", verdict->capture},
                                     {"report", verdict->report},
                                     {"head", as_node(verdict->head)}},
                  heard.good ? Exit::within_limits : Exit::outside_limits);
  });
}

int run_captures(const Args& args, Console& console) {
  return in_works(args, console, [&](OpenWorks& works) {
    const auto matched = line::match_captures(works.desk,
                                              {.folder = args.text("folder"),
                                               .table = args.text("--table"),
                                               .enter = !args.given("--dry-run")});
    if (!matched) return console.refuse(matched.error());
    std::string out;
    json::Node::List hits, misses;
    for (const auto& hit : matched->hits) {
      out += fmt::format("  {} → {} side {}{}\n",
                         hit.file,
                         hit.ticket,
                         hit.letter,
                         hit.known ? " (entered before)" : "");
      hits.push_back(json::Node::Object{{"file", hit.file},
                                        {"ticket", hit.ticket},
                                        {"side", hit.letter},
                                        {"known", hit.known},
                                        {"capture", hit.capture}});
    }
    for (const auto& miss : matched->misses) {
      out += fmt::format("  ▲ {}: {}\n", miss.file, miss.why);
      misses.push_back(json::Node::Object{{"file", miss.file}, {"why", miss.why}});
    }
    out = fmt::format(
              "{} captures matched, {} missed\n", matched->hits.size(), matched->misses.size()) +
          out;
    const bool complete = matched->misses.empty();
    return answer(args,
                  console,
                  out,
                  json::Node::Object{{"matched", std::move(hits)}, {"missed", std::move(misses)}},
                  complete ? Exit::within_limits : Exit::outside_limits);
  });
}

}  // namespace

std::vector<Command> works_sample_commands() {
  return {
      {.name = "works ticket",
       .help = "Pulls a disc for hearing; what was pressed since the last good one is suspect.",
       .example = "goodside works ticket R-00001-9 250 --reason \"every 250th\"\n\nticket "
                  "S-000002-1: disc 250 of R-00001-9; 249 discs are suspect until it\nis heard",
       .options = with_works_options(
           {{.name = "run", .value = "RUN", .help = "Its code.", .required = true},
            {.name = "impression", .value = "N", .help = "Which disc, or a range it lies in."},
            {.name = "--counter", .value = "N", .help = "Its press counter reading."},
            {.name = "--spindle", .value = "SPINDLE", .help = "Where it was taken from."},
            {.name = "--name", .value = "NAME", .help = "What its captures are called by."},
            {.name = "--reason", .value = "TEXT", .help = "Why."},
            {.name = "--at", .value = "WHEN", .help = "When it was pulled; without it now."}}),
       .run = run_ticket},
      {.name = "works hear",
       .help = "What was heard on a pulled disc; a good one lets go what waited for it.",
       .example = "goodside works hear S-000002-1 --side A --report a.json\n\nS-000002-1 is good; "
                  "249 discs are let go",
       .options = with_works_options(
           {{.name = "ticket", .value = "TICKET", .help = "Its code.", .required = true},
            {.name = "verdict", .value = "VERDICT", .help = "good or bad, by ear."},
            {.name = "--report",
             .value = "FILE",
             .help = "From `goodside listen --json FILE`: its verdict counts."},
            {.name = "--side", .value = "LETTER", .help = "Which side was heard."},
            {.name = "--words", .value = "TEXT", .help = "The listener's own remark."}}),
       .run = run_hear},
      {.name = "works captures",
       .help = "Matches a folder of captures to sample tickets, every miss listed.",
       .example = "goodside works captures captures\n\n2 captures matched, 1 missed\n  "
                  "S-000001-3-A.wav → S-000001-3 side A",
       .options = with_works_options(
           {{.name = "folder",
             .value = "DIR",
             .help = "Of audio files, named by ticket and side.",
             .required = true},
            {.name = "--table",
             .value = "FILE",
             .help = "CSV with columns file, ticket, side, where names do not tell."},
            {.name = "--dry-run", .help = "Only show what matches."}}),
       .run = run_captures},
  };
}

}  // namespace goodside::cli
