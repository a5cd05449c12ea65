#include <fmt/format.h>

#include <filesystem>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/life_summary.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/works_open.hpp"
#include "draw/life_plot.hpp"
#include "intake/safe_file.hpp"
#include "intake/stamper_lives.hpp"
#include "json/stamper_life.hpp"
#include "line/stamper_lives.hpp"

namespace goodside::cli {
namespace {

int tell(const Args& args,
         Console& console,
         const line::KnownLives& known,
         const works::TraceCosts& costs,
         const std::string& whose) {
  const auto report = line::life_report(known, costs, 0);
  if (!report) return console.refuse(report.error());
  const std::string& json = args.text("--json");
  if (args.given("--picture")) {
    const auto format = picture_format(args.text("--picture"));
    if (!format) return console.refuse(format.error());
    draw::PlotOptions options;
    options.format = *format;
    options.title = whose;
    const auto picture = draw::life_plot(*report, options);
    if (!picture) return console.refuse(picture.error());
    if (const auto saved = intake::write_whole(args.text("--picture"), *picture); !saved)
      return console.refuse(saved.error());
  }
  if (args.given("--save"))
    if (const auto saved = intake::write_whole(args.text("--save"), intake::lives_csv(known.lives));
        !saved)
      return console.refuse(saved.error());
  if (args.given("--json") && json != "-")
    if (const auto saved = intake::write_whole(json, json::write(*report)); !saved)
      return console.refuse(saved.error());
  console.out() << (json == "-" ? json::write(*report) : life_summary(*report));
  return static_cast<int>(Exit::within_limits);
}

/// A table needs no record; the costs are those of the works folder here or above, where there is one.
int from_table(const Args& args, Console& console) {
  auto lives = intake::read_lives(args.text("--lives"));
  if (!lives) return console.refuse(lives.error());
  works::TraceCosts costs;
  const auto folder = works_folder(args);
  if (!folder && (args.given("--in") || folder.error().fault != Fault::not_found))
    return console.refuse(folder.error());
  if (folder) {
    auto own = line::works_costs(*folder);
    if (!own) return console.refuse(own.error());
    costs = *own;
  }
  return tell(args,
              console,
              {.lives = std::move(*lives), .remarks = {}},
              costs,
              std::filesystem::path{args.text("--lives")}.filename().string());
}

int run_lives(const Args& args, Console& console) {
  if (args.given("--picture"))
    if (const auto format = picture_format(args.text("--picture")); !format)
      return console.refuse(format.error());
  if (args.given("--lives")) return from_table(args, console);
  return in_works(args, console, [&](OpenWorks& works) {
    const auto costs = line::works_costs(works.place.folder);
    if (!costs) return console.refuse(costs.error());
    std::vector<std::string> remarks;
    const auto traces = line::traces_of_record(works.desk.record, works.place.folder, 0, remarks);
    if (!traces) return console.refuse(traces.error());
    auto known = line::lives_of_record(works.desk.record, works.place.folder, *traces);
    if (!known) return console.refuse(known.error());
    known->remarks.insert(known->remarks.end(), remarks.begin(), remarks.end());
    return tell(args, console, *known, *costs, works.place.name);
  });
}

}  // namespace

Command works_lives_command() {
  return {.name = "works lives",
          .help = "How long stampers last, what ends them, and when to pull one.",
          .example =
              "goodside works lives --picture lives.png\n\nPull at 1400 closings\n  any limit "
              "from 1100 to 1900 costs within 1 % of it …",
          .options = with_works_options(
              {{.name = "--lives",
                .value = "FILE.csv",
                .help = "From a table instead of the record: stampers, ages, causes."},
               {.name = "--save",
                .value = "FILE.csv",
                .help = "Write the lives as such a table, to look at or to mend."},
               {.name = "--picture",
                .value = "FILE",
                .help = "Draw the curve, the law, the pull limit: .png, .svg, .pdf."}}),
          .run = run_lives};
}

}  // namespace goodside::cli
