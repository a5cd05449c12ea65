#include <fmt/format.h>

#include <functional>
#include <ostream>

#include "cli/back_text.hpp"
#include "cli/commands.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/works_open.hpp"
#include "disc/format.hpp"
#include "draw/backing_plot.hpp"
#include "intake/safe_file.hpp"
#include "intake/thickness_readings.hpp"
#include "json/backing.hpp"
#include "line/finish_part.hpp"
#include "line/part_layers.hpp"
#include "metal/bare_back.hpp"
#include "metal/layered_plate.hpp"
#include "metal/solder.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

constexpr const char* common_practice = "common practice, no source";

Result<double> some_length_m(std::string_view text) {
  const auto length = units::length_m(text);
  if (length && !(*length > 0.0))
    return Error{
        Fault::out_of_range,
        fmt::format("\"{}\" is not more than nothing; for instance 0.2mm", text.substr(0, 40))};
  return length;
}

Result<double> no_less_than_nothing_m(std::string_view text) {
  const auto length = units::length_m(text);
  if (length && *length < 0.0)
    return Error{Fault::out_of_range,
                 fmt::format("\"{}\" is less than nothing", text.substr(0, 40))};
  return length;
}

std::string limit_from(const Args& args, const char* option) {
  return args.given(option) ? "as given" : common_practice;
}

/// The shell's metal: what is said counts before what the record holds of the part, and that before what is usual.
struct Shell {
  double nickel_m{}, copper_m{};
  std::string remark{};
};
Result<Shell> shell_of(const Args& args, const line::PartAsGrown* part) {
  const auto nickel = args.read("--nickel", some_length_m);
  if (!nickel) return nickel.error();
  const auto copper = args.read("--copper", no_less_than_nothing_m);
  if (!copper) return copper.error();
  Shell shell{.nickel_m = *nickel, .copper_m = *copper};
  if (part == nullptr) return shell;
  const line::PartLayers& grown = part->layers;
  if (!(grown.nickel_m > 0.0)) {
    shell.remark = "the record holds no thickness of this part: the shell is " +
                   std::string{args.given("--nickel") ? "as given" : "the usual one"};
    return shell;
  }
  if (!args.given("--nickel")) shell.nickel_m = grown.nickel_m;
  if (!args.given("--copper")) shell.copper_m = grown.copper_m;
  if (!args.given("--nickel") || !args.given("--copper"))
    shell.remark = fmt::format("of the record (step {}): nickel {:.4g} mm, copper {:.4g} mm",
                               grown.from,
                               grown.nickel_m * 1e3,
                               grown.copper_m * 1e3);
  return shell;
}

Result<works::BackingReport> soldered(const Args& args, const line::PartAsGrown* part) {
  metal::BackingQuestion question;
  const auto shell = shell_of(args, part);
  if (!shell) return shell.error();
  const auto joint = args.read("--solder", some_length_m),
             plate = args.read("--plate", some_length_m);
  for (const auto* one : {&joint, &plate})
    if (!*one) return one->error();
  struct Part {
    std::string_view metal;
    double thickness_m;
  };
  for (const Part& one : {Part{"nickel", shell->nickel_m},
                          Part{"copper", shell->copper_m},
                          Part{"solder", *joint},
                          Part{args.text("--metal"), *plate}}) {
    if (!(one.thickness_m > 0.0)) continue;
    const auto layer = metal::metal_layer(one.metal, one.thickness_m);
    if (!layer) return Error{Fault::bad_input, "--metal: " + layer.error().text};
    question.layers.push_back(*layer);
  }
  const auto alloy = metal::solder(args.text("--alloy"));
  if (!alloy) return Error{Fault::bad_input, "--alloy: " + alloy.error().text};
  question.solder = *alloy;
  question.choice.assign(metal::common_solders().begin(), metal::common_solders().end());
  const auto room = args.read("--room", units::temperature_K),
             press = args.read("--press", units::temperature_K);
  for (const auto* one : {&room, &press})
    if (!*one) return one->error();
  question.room_K = *room;
  question.press_K = question.hottest_K = *press;
  const auto diameter = args.read("--diameter", some_length_m),
             flat = args.read("--flat", some_length_m);
  for (const auto* one : {&diameter, &flat})
    if (!*one) return one->error();
  question.radius_m = 0.5 * *diameter;
  question.flat_limit_m = *flat;
  question.flat_limit_from = limit_from(args, "--flat");
  auto report = metal::backing(question);
  if (report && !shell->remark.empty()) report->remarks.push_back(shell->remark);
  return report;
}

Result<std::optional<works::Forming>> bent(const Args& args,
                                           const char* option,
                                           double thickness_m) {
  const auto radius = args.maybe(option, some_length_m);
  if (!radius) return radius.error();
  if (!*radius) return std::optional<works::Forming>{};
  const auto one = metal::forming(thickness_m, **radius);
  if (!one) return one.error();
  return std::optional{*one};
}

Result<std::optional<works::ThicknessMap>> mapped(const Args& args) {
  if (!args.given("--map")) return std::optional<works::ThicknessMap>{};
  auto readings = intake::read_thickness(args.text("--map"));
  if (!readings) return readings.error();
  const auto diameter = args.read("--diameter", some_length_m),
             range = args.read("--range", some_length_m);
  for (const auto* one : {&diameter, &range})
    if (!*one) return one->error();
  auto map = metal::thickness_map({.readings = std::move(*readings),
                                   .radius_m = 0.5 * *diameter,
                                   .range_limit_m = *range,
                                   .range_limit_from = limit_from(args, "--range")});
  if (!map) return Error{map.error().fault, args.text("--map") + ": " + map.error().text};
  return std::optional{std::move(*map)};
}

Result<std::optional<works::BackSurface>> surfaced(const Args& args,
                                                   double thickness_m,
                                                   const std::string& of_part) {
  if (!args.given("--roughness")) return std::optional<works::BackSurface>{};
  const auto format =
      disc::format(args.given("--format") || of_part.empty() ? args.text("--format") : of_part);
  if (!format) return Error{format.error().fault, "--format: " + format.error().text};
  const auto roughness = args.read("--roughness", some_length_m),
             spacing = args.read("--spacing", some_length_m),
             limit = args.read("--roughness-limit", some_length_m);
  for (const auto* one : {&roughness, &spacing, &limit})
    if (!*one) return one->error();
  const auto pressure = args.read("--pressure", units::pressure_Pa);
  if (!pressure) return pressure.error();
  const auto surface = metal::back_surface({.roughness_m = *roughness,
                                            .spacing_m = *spacing,
                                            .thickness_m = thickness_m,
                                            .pressure_Pa = *pressure,
                                            .limit_m = *limit,
                                            .limit_from = limit_from(args, "--roughness-limit"),
                                            .rpm = format->rpm,
                                            .outer_radius_m = format->outer_radius_m,
                                            .inner_radius_m = format->inner_radius_m});
  if (!surface) return surface.error();
  return std::optional{*surface};
}

Result<works::BareBackReport> bare(const Args& args, const line::PartAsGrown* part) {
  works::BareBackReport report;
  const auto shell = shell_of(args, part);
  if (!shell) return shell.error();
  // A bare stamper is one shell, whatever it grew of; without a part no copper is meant.
  const double thickness_m = shell->nickel_m + (part == nullptr ? 0.0 : part->layers.copper_m);
  if (!shell->remark.empty()) report.remarks.push_back(shell->remark);
  auto map = mapped(args);
  if (!map) return map.error();
  report.map = std::move(*map);
  const auto surface = surfaced(args, thickness_m, part == nullptr ? std::string{} : part->format);
  if (!surface) return surface.error();
  report.surface = *surface;
  const auto edge = bent(args, "--form-edge", thickness_m),
             centre = bent(args, "--form-centre", thickness_m);
  if (!edge) return edge.error();
  if (!centre) return centre.error();
  report.edge = *edge;
  report.centre = *centre;
  report.within =
      (!report.map || report.map->within) && (!report.surface || report.surface->within) &&
      (!report.edge || report.edge->within) && (!report.centre || report.centre->within);
  return report;
}

bool is_bare(const Args& args) {
  return args.given("--map") || args.given("--roughness") || args.given("--form-edge") ||
         args.given("--form-centre");
}

template <class Report, class Plot>
int tell(const Args& args,
         Console& console,
         const Report& report,
         Plot plot,
         bool good,
         const std::function<Result<std::string>()>& log = {}) {
  if (args.given("--picture")) {
    const auto format = picture_format(args.text("--picture"));
    if (!format) return console.refuse(format.error());
    draw::PlotOptions options;
    options.format = *format;
    const auto picture = plot(report, options);
    if (!picture) return console.refuse(picture.error());
    if (const auto saved = intake::write_whole(args.text("--picture"), *picture); !saved)
      return console.refuse(saved.error());
  }
  const std::string& json = args.text("--json");
  if (!json.empty() && json != "-")
    if (const auto saved = intake::write_whole(json, json::write(report)); !saved)
      return console.refuse(saved.error());
  // Entered last: a file that cannot be written enters nothing.
  const auto logged = log ? log() : Result<std::string>{std::string{}};
  if (!logged) return console.refuse(logged.error());
  console.out() << (json == "-" ? json::write(report)
                                : back_text(report, console.colour()) + *logged);
  return static_cast<int>(good ? Exit::within_limits : Exit::outside_limits);
}

int answer_back(const Args& args,
                Console& console,
                const line::PartAsGrown* part,
                OpenWorks* works) {
  if (is_bare(args)) {
    const auto report = bare(args, part);
    if (!report) return console.refuse(report.error());
    return tell(args, console, *report, draw::thickness_plot, report->within);
  }
  const auto report = soldered(args, part);
  if (!report) return console.refuse(report.error());
  const auto log = [&]() -> Result<std::string> {
    const std::string& code = args.text("--part");
    const auto entered = line::log_backing(works->desk, code, *report);
    if (!entered) return entered.error();
    return fmt::format("{} {}: backed. {}", entered->code, code, noted(entered->head));
  };
  return tell(args,
              console,
              *report,
              draw::backing_plot,
              report->flat && report->solder_fit,
              works != nullptr && args.given("--log") ? std::function{log}
                                                      : std::function<Result<std::string>()>{});
}

int back(const Args& args, Console& console) {
  if (args.given("--picture"))
    if (const auto format = picture_format(args.text("--picture")); !format)
      return console.refuse(format.error());
  if (args.given("--log") && (is_bare(args) || !args.given("--part")))
    return console.refuse(
        {Fault::bad_input,
         "--log: a soldered backing is entered, with the part's code: --part CODE"});
  if (!is_bare(args) && !args.given("--plate"))
    return console.refuse({Fault::bad_input,
                           "give --plate, the thickness of the plate that the stamper is soldered "
                           "to; or --map, --roughness, "
                           "--form-edge or --form-centre for a back that stays bare"});
  if (!args.given("--part")) return answer_back(args, console, nullptr, nullptr);
  const auto code = args.read("--part", code_text);
  if (!code) return console.refuse(code.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto part = line::part_as_grown(works.desk.record, *code);
    if (!part) return console.refuse(part.error());
    return answer_back(args, console, &*part, &works);
  });
}

}  // namespace

Command back_command() {
  return {
      .name = "back",
      .help =
          "A stamper's back: the bow and the solder of a backed one, or a bare one's thickness and "
          "texture.",
      .example = R"(goodside back --plate 6mm --alloy Sn96.5Ag3Cu0.5 --press "170.4 °C"

● Backed within the limits  flat within 1 mm (common practice, no source)
  bow      off the press at 20 °C: 0.88 mm centre to edge, the face hollow
           (radius 14.5 m); some 1.2 bar press it flat
...)",
      .options =
          {{.name = "--plate",
            .value = "LENGTH",
            .help = "Thickness of the backing plate: the stamper is soldered."},
           {.name = "--metal",
            .value = "NAME",
            .help = "Of the plate: steel, tool steel, stainless steel, copper, brass, aluminium.",
            .fallback = "steel"},
           {.name = "--nickel",
            .value = "LENGTH",
            .help = "The shell's nickel, or the whole bare stamper; with --part as it was grown.",
            .fallback = "0.2mm"},
           {.name = "--copper",
            .value = "LENGTH",
            .help = "Copper behind the nickel, 0mm: none; with --part as it was grown.",
            .fallback = "0.8mm"},
           {.name = "--solder",
            .value = "LENGTH",
            .help = "Thickness of the joint.",
            .fallback = "0.1mm"},
           {.name = "--alloy",
            .value = "NAME",
            .help = "The solder: Sn63Pb37, Sn96.5Ag3Cu0.5 …",
            .fallback = "Sn63Pb37"},
           {.name = "--press",
            .value = "TEMPERATURE",
            .help = "The press's hottest moment.",
            .fallback = "165 °C"},
           {.name = "--room",
            .value = "TEMPERATURE",
            .help = "Where it lies cold.",
            .fallback = "20 °C"},
           {.name = "--diameter",
            .value = "LENGTH",
            .help = "Of the trimmed plate.",
            .fallback = "320mm"},
           {.name = "--flat",
            .value = "LENGTH",
            .help = "Largest bow, centre to edge.",
            .fallback = "1mm"},
           {.name = "--map",
            .value = "FILE.csv",
            .help = "A bare back's thickness: x_mm, y_mm (or radius_mm, angle_deg), thickness_um."},
           {.name = "--range",
            .value = "LENGTH",
            .help = "Largest difference in thickness.",
            .fallback = "20um"},
           {.name = "--roughness", .value = "LENGTH", .help = "A bare back's Rz."},
           {.name = "--spacing",
            .value = "LENGTH",
            .help = "Mean width of the texture's elements, RSm.",
            .fallback = "1mm"},
           {.name = "--roughness-limit",
            .value = "LENGTH",
            .help = "Largest Rz.",
            .fallback = "3um"},
           {.name = "--pressure",
            .value = "PRESSURE",
            .help = "On the face in the press.",
            .fallback = "100 bar"},
           {.name = "--format",
            .value = "NAME",
            .help = "Whose grooves the texture is heard at.",
            .fallback = "12in-33"},
           {.name = "--form-edge",
            .value = "RADIUS",
            .help = "Inner radius that the edge is formed round."},
           {.name = "--form-centre", .value = "RADIUS", .help = "The same at the centre."},
           {.name = "--part",
            .value = "CODE",
            .help = "A part of the record that is backed: its nickel and copper are taken from its "
                    "growth."},
           {.name = "--log", .help = "Enter the backing in the record as that part\'s step."},
           {.name = "--in",
            .value = "DIR",
            .help = "The works folder; without it the nearest above."},
           {.name = "--by", .value = "NAME", .help = "Who enters this; without it your user name."},
           {.name = "--picture", .value = "FILE", .help = "Draw it: .png, .svg, .pdf."},
           {.name = "--json",
            .value = "FILE|-",
            .help = "Write the whole answer; - is standard output."}},
      .run = back};
}

}  // namespace goodside::cli
