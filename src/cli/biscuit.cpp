#include <fmt/format.h>

#include <ostream>
#include <span>

#include "cli/biscuit_summary.hpp"
#include "cli/commands.hpp"
#include "cli/drawn_files.hpp"
#include "cli/other_file.hpp"
#include "cli/works_open.hpp"
#include "draw/biscuit_plot.hpp"
#include "intake/safe_file.hpp"
#include "json/biscuit_report.hpp"
#include "line/cut_biscuit.hpp"
#include "line/log_batch.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

template <class Read, class Field>
Outcome take(const Args& args, std::string_view option, Read read, Field& field) {
  const auto value = args.maybe(option, read);
  if (!value) return value.error();
  if (*value) field = **value;
  return Done{};
}

Result<line::BiscuitFiles> request_of(const Args& args) {
  line::BiscuitFiles request;
  auto& all = request.request;
  auto& disc = request.disc;
  request.profile = args.text("--profile");
  request.weighed = args.text("--weighed");
  request.recipe = args.text("--recipe");
  all.profile_of_mould = args.given("--of-mould");
  std::optional<double> density, diameter, thickness, width, pitch, outer, inner;
  for (const auto& outcome :
       {take(args, "--density", units::density_kg_per_m3, density),
        take(args, "--diameter", units::length_m, diameter),
        take(args, "--thickness", units::length_m, thickness),
        take(args, "--hole", units::length_m, disc.hole_m),
        take(args, "--label-diameter", units::length_m, disc.label_diameter_m),
        take(args, "--label-thickness", units::length_m, disc.label_thickness_m),
        take(args, "--rim-width", units::length_m, disc.rim_width_m),
        take(args, "--rim-thickness", units::length_m, disc.rim_thickness_m),
        take(args, "--groove-width", units::length_m, width),
        take(args, "--pitch", units::pitch_m, pitch),
        take(args, "--outer-radius", units::length_m, outer),
        take(args, "--inner-radius", units::length_m, inner),
        take(args, "--shrinkage", units::fraction, all.shrinkage),
        take(args, "--flash", units::fraction, all.flash),
        take(args, "--least-flash", units::fraction, all.least_flash),
        take(args, "--most-flash", units::fraction, all.most_flash),
        take(args, "--scrap", units::fraction, all.scrap),
        take(args, "--sheet", units::length_m, all.sheet_thickness_m),
        take(args, "--sheet-sigma", units::length_m, all.sheet_thickness_sigma_m),
        take(args, "--sheet-width", units::length_m, all.sheet_width_m),
        take(args, "--knives", units::length_m, all.knife_m),
        take(args, "--knives-sigma", units::length_m, all.knife_sigma_m),
        take(args, "--puck", units::length_m, all.puck_diameter_m),
        take(args, "--sigma", units::mass_kg, all.sigma_kg),
        take(args, "--short", units::fraction, all.short_chance),
        take(args, "--thick", units::fraction, all.thick_chance),
        take(args, "--scale", units::mass_kg, all.division_kg)})
    if (!outcome) return outcome.error();
  all.density_kg_per_m3 = density.value_or(0.0);
  disc.diameter_m = diameter.value_or(0.0);
  disc.thickness_m = thickness.value_or(0.0);
  const bool has_grooves = width || pitch || outer || inner;
  if (has_grooves && !(width && pitch && outer && inner))
    return Error{Fault::bad_input,
                 "grooves take --groove-width, --pitch, --outer-radius and --inner-radius; give "
                 "all four, or none"};
  if (has_grooves)
    all.grooves = works::Grooves{.outer_radius_m = *outer,
                                 .inner_radius_m = *inner,
                                 .pitch_m = *pitch,
                                 .top_width_m = *width};
  if (!density && request.recipe.empty())
    return Error{Fault::bad_input,
                 "how dense is the compound? give --density, or the recipe with --recipe"};
  if (density && !request.recipe.empty())
    return Error{Fault::bad_input,
                 "--density and --recipe both tell the density; give one of them"};
  if (request.profile.empty() && !(diameter && thickness))
    return Error{
        Fault::bad_input,
        "what is the disc's shape? give --diameter and --thickness, or --profile FILE.csv"};
  return request;
}

/// The picture and the JSON, made before anything is written.
Result<std::vector<intake::FileBytes>> made(const Args& args, const works::BiscuitReport& report) {
  std::vector<intake::FileBytes> files;
  if (const auto added = add_picture(files, args.text("--picture"), report, draw::biscuit_plot);
      !added)
    return added.error();
  const std::string& json = args.text("--json");
  if (!json.empty() && json != "-") files.push_back({json, json::write(report)});
  return files;
}

/// Writes what is to be written and speaks; `noted` is what the record answered.
int tell(const Args& args,
         Console& console,
         const works::BiscuitReport& report,
         std::span<const intake::FileBytes> files,
         const std::string& noted) {
  if (const auto saved = intake::write_together(files); !saved)
    return console.refuse(saved.error());
  console.out() << (args.text("--json") == "-" ? json::write(report)
                                               : biscuit_summary(report, console.colour()) + noted);
  return static_cast<int>(report.is_within ? Exit::within_limits : Exit::outside_limits);
}

int run_biscuit(const Args& args, Console& console) {
  const auto request = request_of(args);
  if (!request) return console.refuse(request.error());
  for (const auto* option : {"--picture", "--json"})
    for (const auto* input : {"--profile", "--weighed", "--recipe"})
      if (const auto other = is_other_file(option, args.text(option), args.text(input)); !other)
        return console.refuse(other.error());
  const auto report = line::cut_biscuit(*request);
  if (!report) return console.refuse(report.error());
  if (args.given("--log") != args.given("--batch"))
    return console.refuse(
        {Fault::bad_input,
         "--log enters biscuits cut from a batch, --batch CODE; give both, or neither"});
  const auto batch = args.maybe("--batch", code_text);
  if (!batch) return console.refuse(batch.error());
  const auto files = made(args, *report);
  if (!files) return console.refuse(files.error());
  if (!args.given("--log")) return tell(args, console, *report, *files, "");
  return in_works(args, console, [&](OpenWorks& works) {
    const auto entered = line::log_biscuits(works.desk, *report, **batch);
    if (!entered) return console.refuse(entered.error());
    const auto said =
        fmt::format("biscuits {} are in the record; {}", entered->code, noted(entered->head));
    return tell(args, console, *report, *files, said);
  });
}

}  // namespace

Command biscuit_command() {
  return {
      .name = "biscuit",
      .help = "Compound: what a biscuit must weigh, and how it is cut.",
      .example =
          R"(goodside biscuit --density "1.92 g/cm3" --diameter 10in --thickness 1.8mm
    --weighed demo/compound/biscuits.csv

● Aim at 181.9 g  disc 175.0 g, one biscuit a disc
  ...
  limits   short fill below 176.7 g, too thick above 196.0 g
  ...
  aim      181.9 g, 3.96 % flash: short fill 1 in 1200, too thick fewer than 1
           in a million, flash 6.9 g a disc
  ...
Next: set sheet or knives 1.6 g lighter, and weigh again.)",
      .options =
          {{.name = "--density", .value = "D", .help = "Of the cold compound: 1.92 g/cm3."},
           {.name = "--recipe", .value = "FILE", .help = "Or from its recipe, without voids."},
           {.name = "--diameter", .value = "Q", .help = "Of the disc: 10in."},
           {.name = "--thickness", .value = "Q", .help = "Of its groove area: 1.8 mm."},
           {.name = "--hole", .value = "Q", .help = "Diameter of the hole.", .fallback = "7.24 mm"},
           {.name = "--label-diameter", .value = "Q", .help = "Of a raised label."},
           {.name = "--label-thickness", .value = "Q", .help = "Thickness there."},
           {.name = "--rim-width", .value = "Q", .help = "Of a raised rim."},
           {.name = "--rim-thickness", .value = "Q", .help = "Thickness there."},
           {.name = "--profile",
            .value = "FILE.csv",
            .help = "Thickness over radius instead, hole to edge: columns radius and thickness."},
           {.name = "--groove-width",
            .value = "Q",
            .help = "Mean width at the top, V of 90 degrees: 50 um."},
           {.name = "--pitch", .value = "Q", .help = "Of the grooves: 100 lpi."},
           {.name = "--outer-radius", .value = "Q", .help = "Where the grooves begin."},
           {.name = "--inner-radius", .value = "Q", .help = "Where they end."},
           {.name = "--of-mould",
            .help = "The shape is the hot mould's; otherwise the cold disc's."},
           {.name = "--shrinkage", .value = "S", .help = "Linear, mould to cold disc: 0.4 %."},
           {.name = "--flash",
            .value = "S",
            .help = "Aimed at, of the disc's mass.",
            .fallback = "7 %"},
           {.name = "--least-flash",
            .value = "S",
            .help = "Below it the rim does not fill.",
            .fallback = "1 %"},
           {.name = "--most-flash",
            .value = "S",
            .help = "Above it discs come out thick.",
            .fallback = "12 %"},
           {.name = "--scrap", .value = "S", .help = "Share of discs that go back to the mill."},
           {.name = "--sheet", .value = "Q", .help = "Thickness of the sheet: 4.5 mm."},
           {.name = "--sheet-sigma", .value = "Q", .help = "Its scatter (one sigma)."},
           {.name = "--sheet-width", .value = "Q", .help = "For how many lie across."},
           {.name = "--knives",
            .value = "Q",
            .help = "Distance of the knives: 140 mm; without it, a square."},
           {.name = "--knives-sigma", .value = "Q", .help = "Its scatter."},
           {.name = "--puck", .value = "Q", .help = "Diameter of a puck: 100 mm."},
           {.name = "--sigma", .value = "M", .help = "Scatter of biscuits' mass: 1.5 g."},
           {.name = "--weighed",
            .value = "FILE.csv",
            .help = "Biscuits as weighed: a column mass_g, mass_kg or mass."},
           {.name = "--short",
            .value = "S",
            .help = "Share that may fall short.",
            .fallback = "0.1 %"},
           {.name = "--thick",
            .value = "S",
            .help = "Share that may come out too thick.",
            .fallback = "1 %"},
           {.name = "--scale",
            .value = "M",
            .help = "Division of the biscuit scale.",
            .fallback = "0.1 g"},
           {.name = "--picture",
            .value = "FILE",
            .help = "Draw how the masses lie between the limits: .png, .svg, .pdf."},
           {.name = "--batch", .value = "CODE", .help = "Of the record, that they were cut from."},
           {.name = "--log", .help = "Enter the biscuits weighed: count, mean, scatter, aim."},
           {.name = "--in",
            .value = "DIR",
            .help = "The works folder; without it the nearest above."},
           {.name = "--by", .value = "NAME", .help = "Who enters this; without it your user name."},
           {.name = "--json",
            .value = "FILE|-",
            .help = "Write the whole result; - is standard output."}},
      .run = run_biscuit};
}

}  // namespace goodside::cli
