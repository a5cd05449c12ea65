#include <array>
#include <ostream>
#include <vector>

#include "cli/commands.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/plate_request.hpp"
#include "cli/plate_summary.hpp"
#include "draw/plating_plot.hpp"
#include "intake/safe_file.hpp"
#include "json/plating.hpp"

namespace goodside::cli {
namespace {

struct Picture {
  const char* option;
  Result<std::string> (*draw)(const works::PlatingReport&, const draw::PlotOptions&);
};
constexpr std::array pictures{Picture{"--picture", draw::thickness_plot},
                              Picture{"--cell-picture", draw::cell_plot},
                              Picture{"--ramp-picture", draw::ramp_plot}};

/// All files or none.
Outcome save(const Args& args, const works::PlatingReport& report) {
  std::vector<intake::FileBytes> files;
  for (const Picture& one : pictures) {
    if (!args.given(one.option)) continue;
    const auto format = picture_format(args.text(one.option));
    if (!format) return format.error();
    draw::PlotOptions options;
    options.format = *format;
    auto bytes = one.draw(report, options);
    if (!bytes) return bytes.error();
    files.push_back({args.text(one.option), std::move(*bytes)});
  }
  if (args.given("--json") && args.text("--json") != "-")
    files.push_back({args.text("--json"), json::write(report)});
  return files.empty() ? Outcome{Done{}} : intake::write_together(files);
}

int run_plate(const Args& args, Console& console) {
  for (const Picture& one : pictures)
    if (args.given(one.option))
      if (const auto format = picture_format(args.text(one.option)); !format)
        return console.refuse(format.error());
  const auto request = plate_request(args, {});
  if (!request) return console.refuse(request.error());
  const auto report = line::plan_plating(*request);
  if (!report) return console.refuse(report.error());
  if (const auto saved = save(args, *report); !saved) return console.refuse(saved.error());
  console.out() << (args.text("--json") == "-" ? json::write(*report) : plate_summary(*report));
  return static_cast<int>(line::within_limits(*report) ? Exit::within_limits
                                                       : Exit::outside_limits);
}

}  // namespace

Command plate_command() {
  auto options = plate_options();
  options.push_back({.name = "--picture",
                     .value = "FILE",
                     .help = "Draw the thickness along the radius: .png, .svg, .pdf."});
  options.push_back({.name = "--cell-picture",
                     .value = "FILE",
                     .help = "Draw the cell with its potential and lines of current."});
  options.push_back(
      {.name = "--ramp-picture", .value = "FILE", .help = "Draw current and thickness over time."});
  options.push_back({.name = "--json",
                     .value = "FILE",
                     .help = "The whole answer as JSON; - for standard output."});
  return {.name = "plate",
          .help = "How long to plate, how much metal, and how even it lies over the disc.",
          .example = "goodside plate --target 200um --shield best --within 3%",
          .options = std::move(options),
          .run = run_plate};
}

}  // namespace goodside::cli
