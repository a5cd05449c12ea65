#include <functional>
#include <ostream>
#include <string>
#include <utility>

#include "cli/commands.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/trace_summary.hpp"
#include "intake/safe_file.hpp"
#include "json/trace_report.hpp"
#include "line/family_of_record.hpp"
#include "line/trace_side.hpp"
#include "line/works_place.hpp"
#include "units/number.hpp"

namespace goodside::cli {
namespace {

constexpr int most_jobs = 256;

Result<int> jobs(std::string_view text) {
  const auto number = units::leading_number(units::trimmed(text));
  if (!number || !number->rest.empty() || !(number->value >= 0.0 && number->value <= most_jobs) ||
      number->value != static_cast<double>(static_cast<int>(number->value)))
    return Error{Fault::bad_input, "a whole number from 0 to 256; 0 is one a core"};
  return static_cast<int>(number->value);
}

Result<line::HeardFamily> heard_of(const Args& args, int threads) {
  const bool from_record = args.given("--works");
  if (from_record == args.given("--family"))
    return Error{Fault::bad_input,
                 "give --family FILE with --reports DIR, or --works DIR with --side CODE"};
  if (from_record) {
    if (!args.given("--side"))
      return Error{Fault::bad_input, "--side: name the side, for instance SD-0001-A"};
    const std::string& folder = args.text("--works");
    const auto place = line::read_works_place(folder);
    if (!place) return place.error();
    auto record = ledger::Record::open(place->store, false);
    if (!record) return record.error();
    const auto costs = line::works_costs(place->folder);
    if (!costs) return costs.error();
    return line::family_of_record(*record, place->folder, args.text("--side"), *costs, threads);
  }
  if (!args.given("--reports"))
    return Error{Fault::bad_input, "--reports: name the folder of the listening reports"};
  return line::read_heard_family(args.text("--family"), args.text("--reports"), threads);
}

Outcome write_outputs(const Args& args,
                      const line::TracedFamily& traced,
                      const TracePainter& paint) {
  const std::string& json = args.text("--json");
  if (!json.empty() && json != "-")
    if (const auto saved = intake::write_whole(json, json::write(traced.trace)); !saved)
      return saved.error();
  if (paint && args.given("--picture")) return paint(traced, args.text("--picture"));
  return Done{};
}

int trace(const Args& args, Console& console, const TracePainter& paint) {
  const auto threads = args.read("--jobs", jobs);
  if (!threads) return console.refuse(threads.error());
  if (const auto format = picture_format(paint ? args.text("--picture") : ""); !format)
    return console.refuse(format.error());
  auto heard = heard_of(args, *threads);
  if (!heard) return console.refuse(heard.error());
  const auto traced = line::trace_family(std::move(*heard), *threads);
  if (!traced) return console.refuse(traced.error());
  if (const auto written = write_outputs(args, *traced, paint); !written)
    return console.refuse(written.error());
  console.out() << (args.text("--json") == "-" ? json::write(traced->trace)
                                               : trace_summary(traced->trace, console.colour()));
  for (const auto& fault : traced->trace.recurring)
    if (fault.open) return static_cast<int>(Exit::outside_limits);
  return static_cast<int>(Exit::within_limits);
}

}  // namespace

Command trace_command(TracePainter paint) {
  Command command{
      .name = "trace",
      .help = "Which part put a recurring fault on discs, and what to hear next.",
      .example = R"(goodside trace --family family.json --reports reports/ --json trace.json)",
      .options = {{.name = "--family",
                   .value = "FILE",
                   .help = "Parts, discs, steps and reports of one title (goodside.family/1)."},
                  {.name = "--reports",
                   .value = "DIR",
                   .help = "Folder of the listening reports that the family file names."},
                  {.name = "--works",
                   .value = "DIR",
                   .help = "A works folder, instead: the family as its record knows it."},
                  {.name = "--side",
                   .value = "CODE",
                   .help = "With --works: the side's code, SD-0001-A."},
                  {.name = "--json",
                   .value = "FILE|-",
                   .help = "Write the whole trace (goodside.trace/1); - is standard output."},
                  {.name = "--jobs",
                   .value = "N",
                   .help = "Threads; 0 is one a core. The answer does not depend on it.",
                   .fallback = "0"}},
      .run = {}};
  if (paint)
    command.options.push_back({.name = "--picture",
                               .value = "FILE",
                               .help = "Draw tree, impressions and portraits: .png, .svg, .pdf."});
  command.run = [paint = std::move(paint)](const Args& args, Console& console) {
    return trace(args, console, paint);
  };
  return command;
}

}  // namespace goodside::cli
