#include <fmt/format.h>

#include <array>
#include <optional>
#include <ostream>
#include <vector>

#include "cli/commands.hpp"
#include "cli/drawn_files.hpp"
#include "cli/plate_request.hpp"
#include "cli/plate_summary.hpp"
#include "cli/works_open.hpp"
#include "draw/plating_plot.hpp"
#include "intake/safe_file.hpp"
#include "intake/works_folder.hpp"
#include "json/plating.hpp"
#include "line/plate_part.hpp"

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
    const auto added = add_picture(files, args.text(one.option), report, one.draw);
    if (!added) return added.error();
  }
  if (args.given("--json") && args.text("--json") != "-")
    files.push_back({args.text("--json"), json::write(report)});
  return files.empty() ? Outcome{Done{}} : intake::write_together(files);
}

/// Plans, saves, and hands the report on; the exit status of what went wrong, or nothing.
std::optional<int> plan(const Args& args,
                        Console& console,
                        const PlateStart& start,
                        const std::string& part,
                        works::PlatingReport& report) {
  const auto request = plate_request(args, start);
  if (!request) return console.refuse(request.error());
  auto planned = line::plan_plating(*request);
  if (!planned) return console.refuse(planned.error());
  report = std::move(*planned);
  report.part = part;
  if (const auto saved = save(args, report); !saved) return console.refuse(saved.error());
  return {};
}

int tell(const Args& args,
         Console& console,
         const works::PlatingReport& report,
         const std::string& logged) {
  if (args.text("--json") == "-")
    console.out() << json::write(report);
  else
    console.out() << plate_summary(report) << logged;
  return static_cast<int>(line::within_limits(report) ? Exit::within_limits : Exit::outside_limits);
}

int for_part(const Args& args, Console& console) {
  const auto code = args.read("--part", code_text);
  if (!code) return console.refuse(code.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto part = line::part_to_plate(works.desk.record, *code);
    if (!part) return console.refuse(part.error());
    const PlateStart start{.face = part->face,
                           .metals_file = works.place.folder + "/" + intake::works_file_name,
                           .base_m = part->base_m,
                           .format = part->format,
                           .metal = part->step == works::Step::faced ? "chromium-flash" : ""};
    works::PlatingReport report;
    if (const auto failed = plan(args, console, start, *code, report)) return *failed;
    std::string logged;
    if (args.given("--log")) {
      const auto entered = line::log_plating(works.desk, *part, report);
      if (!entered) return console.refuse(entered.error());
      logged = fmt::format(
          "{} {}: {}. {}", entered->code, *code, word(part->step), noted(entered->head));
    }
    return tell(args, console, report, logged);
  });
}

int run_plate(const Args& args, Console& console) {
  for (const Picture& one : pictures)
    if (args.given(one.option))
      if (const auto format = picture_format(args.text(one.option)); !format)
        return console.refuse(format.error());
  if (args.given("--part")) return for_part(args, console);
  if (args.given("--log"))
    return console.refuse(
        {Fault::bad_input, "--log: name the part whose run this is, with --part CODE"});
  PlateStart start;
  if (args.given("--in")) {
    const auto folder = works_folder(args);
    if (!folder) return console.refuse(folder.error());
    start.metals_file = *folder + "/" + intake::works_file_name;
  }
  works::PlatingReport report;
  if (const auto failed = plan(args, console, start, "", report)) return *failed;
  return tell(args, console, report, "");
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
  options.push_back({.name = "--part",
                     .value = "CODE",
                     .help = "A part of the record that grows or is faced: its face, format and "
                             "base are taken from there."});
  options.push_back({.name = "--log",
                     .help = "Enter the run in the record as that part's step, with its figures."});
  options = with_works_options(std::move(options));
  return {.name = "plate",
          .help = "How long to plate, how much metal, and how even it lies over the disc.",
          .example = R"(goodside plate --target 250um --start silvered

250.0 µm of nickel in 5.35 h
  run        nickel in 5.35 h, 170.4 A·h on 8.04 dm²; 179.1 g, 250.0 µm on the
             mean
  stages     2.41 A (0.3 A/dm²) for 84.7 min
             2.41 to 48.25 A (6 A/dm²) over 60.0 min
             48.25 A (6 A/dm²) for 2.94 h
  target     250.0 µm on the mean after 5.35 h)",
          .options = std::move(options),
          .run = run_plate};
}

}  // namespace goodside::cli
