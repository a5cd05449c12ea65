#include <fmt/format.h>

#include <ostream>

#include "cli/centre_text.hpp"
#include "cli/commands.hpp"
#include "cli/listen_outputs.hpp"
#include "cli/works_open.hpp"
#include "disc/format.hpp"
#include "draw/centring_photograph.hpp"
#include "draw/centring_plot.hpp"
#include "intake/groove_readings.hpp"
#include "intake/limits.hpp"
#include "intake/safe_file.hpp"
#include "intake/works_folder.hpp"
#include "json/centring.hpp"
#include "line/centre_plate.hpp"
#include "line/finish_part.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

using works::CentringReport;
using works::CentringStanding;

Result<double> positive_length_m(std::string_view text) {
  const auto length = units::length_m(text);
  if (length && !(*length > 0.0))
    return Error{Fault::out_of_range,
                 fmt::format("\"{}\" is not more than nothing; for instance 0.2mm", text)};
  return length;
}

Result<bool> grows_clockwise(std::string_view text) {
  if (text == "clockwise") return true;
  if (text == "counter-clockwise") return false;
  return Error{
      Fault::bad_input,
      fmt::format("\"{}\" is neither clockwise nor counter-clockwise", text.substr(0, 40))};
}

/// Limits of --limits, or of the works folder here or above, or the built-in ones.
Result<works::Limits> limits_for(const Args& args, const std::string& format) {
  if (args.given("--limits")) return intake::read_limits(args.text("--limits"), format);
  const auto folder = works_folder(args);
  if (folder) return intake::read_limits(*folder + "/" + intake::works_file_name, format);
  if (args.given("--in") || folder.error().fault != Fault::not_found) return folder.error();
  return intake::built_in_limits(format);
}

/// Of --format, or of the part of the record that is centred.
Result<line::CentreFor> title_of(const Args& args, const std::string& of_part) {
  line::CentreFor title{.format = args.given("--format") || of_part.empty() ? args.text("--format")
                                                                            : of_part};
  if (const auto known = disc::format(title.format); !known)
    return Error{known.error().fault, "--format: " + known.error().text};
  auto limits = limits_for(args, title.format);
  if (!limits) return limits.error();
  title.limits = std::move(*limits);
  const auto limit = args.maybe("--limit", positive_length_m);
  if (!limit) return limit.error();
  title.limit_m = *limit;
  return title;
}

Result<std::vector<works::GrooveReading>> all_readings(const Args& args) {
  std::vector<works::GrooveReading> all;
  if (args.given("--readings")) {
    auto table = intake::read_groove_readings(args.text("--readings"));
    if (!table) return table.error();
    all = std::move(*table);
  }
  for (const std::string& typed : args.all("readings")) {
    const auto one = intake::typed_reading(typed);
    if (!one) return one.error();
    all.push_back(*one);
  }
  return all;
}

Result<CentringReport> by_readings(const Args& args, const std::string& of_part) {
  line::CentreReadings asked;
  auto readings = all_readings(args);
  if (!readings) return readings.error();
  asked.readings = std::move(*readings);
  asked.inwards = args.given("--inwards");
  const auto x_at = args.read("--x-at", intake::angle_rad);
  if (!x_at) return x_at.error();
  const auto clockwise = args.read("--angles", grows_clockwise);
  if (!clockwise) return clockwise.error();
  asked.axes = {.x_at_rad = *x_at, .clockwise = *clockwise};
  const auto sigma = args.maybe("--reading-sigma", positive_length_m);
  if (!sigma) return sigma.error();
  asked.reading_sigma_m = *sigma;
  const auto radius = args.maybe("--groove-radius", positive_length_m);
  if (!radius) return radius.error();
  asked.groove_radius_m = *radius;
  const auto spiral = args.maybe("--spiral", units::length_m);
  if (!spiral) return spiral.error();
  asked.inward_per_turn_m = spiral->value_or(0.0);
  auto title = title_of(args, of_part);
  if (!title) return title.error();
  asked.title = std::move(*title);
  return line::centre_by_readings(asked);
}

struct Answer {
  CentringReport report;
  std::optional<works::GreyPicture> photograph;
};

Result<Answer> by_photograph(const Args& args, const std::string& of_part) {
  line::CentrePhotograph asked{.path = args.text("--photo"), .flat_scan = args.given("--scan")};
  const auto hole = args.maybe("--hole-diameter", positive_length_m);
  if (!hole) return hole.error();
  asked.hole_diameter_m = hole->value_or(0.0);
  for (const std::string& text : args.all("--groove-diameter")) {
    const auto groove = positive_length_m(text);
    if (!groove) return Error{groove.error().fault, "--groove-diameter: " + groove.error().text};
    asked.groove_diameters_m.push_back(*groove);
  }
  auto title = title_of(args, of_part);
  if (!title) return title.error();
  asked.title = std::move(*title);
  auto centred = line::centre_by_photograph(asked);
  if (!centred) return centred.error();
  return Answer{.report = std::move(centred->report), .photograph = std::move(centred->picture)};
}

line::RecordedPart recorded(const Args& args, OpenWorks& works) {
  return {works.desk.record, works.place.folder, args.text("--part")};
}

Result<Answer> answer_for(const Args& args, const std::string& of_part, OpenWorks* works) {
  if (works != nullptr && !args.given("--photo") && !args.given("--readings") &&
      args.all("readings").empty()) {
    if (args.given("--log"))
      return Error{Fault::bad_input,
                   "--log: there is nothing new to enter; give readings, or --photo"};
    const auto title = title_of(args, of_part);
    if (!title) return title.error();
    auto report = line::recorded_centring(recorded(args, *works), *title);
    if (!report) return report.error();
    return Answer{.report = std::move(*report), .photograph = {}};
  }
  if (!args.given("--photo")) {
    auto report = by_readings(args, of_part);
    if (!report) return report.error();
    return Answer{.report = std::move(*report), .photograph = {}};
  }
  if (args.given("--readings") || !args.all("readings").empty())
    return Error{Fault::bad_input,
                 "readings and a photograph are two answers; ask for one at a time"};
  return by_photograph(args, of_part);
}

Outcome save_picture(const Args& args, const Answer& answer) {
  if (!args.given("--picture")) return Done{};
  const auto format = picture_format(args.text("--picture"));
  if (!format) return format.error();
  draw::PlotOptions options;
  options.format = *format;
  options.title = "Hole against groove";
  const auto picture = answer.photograph
                           ? draw::centring_photograph(answer.report, *answer.photograph, options)
                           : draw::centring_plot(answer.report, options);
  if (!picture) return picture.error();
  return intake::write_whole(args.text("--picture"), *picture);
}

int tell(const Args& args, Console& console, const std::string& of_part, OpenWorks* works) {
  auto answer = answer_for(args, of_part, works);
  if (!answer) return console.refuse(answer.error());
  if (args.given("--heard") || works != nullptr) {
    const auto beside = args.given("--heard")
                            ? line::lay_heard_beside(answer->report, args.all("--heard"))
                            : line::lay_recorded_beside(answer->report, recorded(args, *works));
    if (!beside) return console.refuse(beside.error());
  }
  const CentringReport& report = answer->report;
  if (const auto saved = save_picture(args, *answer); !saved) return console.refuse(saved.error());
  const std::string& json = args.text("--json");
  if (!json.empty() && json != "-")
    if (const auto saved = intake::write_whole(json, json::write(report)); !saved)
      return console.refuse(saved.error());
  std::string logged;
  if (args.given("--log") && works != nullptr) {
    const std::string& part = args.text("--part");
    const auto entered = line::log_centring(works->desk, part, report);
    if (!entered) return console.refuse(entered.error());
    logged = fmt::format("{} {}: centred. {}", entered->code, part, noted(entered->head));
  }
  console.out() << (json == "-" ? json::write(report)
                                : centre_text(report, console.colour()) + logged);
  const bool good =
      report.standing == CentringStanding::within && (!report.heard || report.heard->agree);
  return static_cast<int>(good ? Exit::within_limits : Exit::outside_limits);
}

int centre(const Args& args, Console& console) {
  if (args.given("--picture"))
    if (const auto format = picture_format(args.text("--picture")); !format)
      return console.refuse(format.error());
  if (!args.given("--part")) {
    if (args.given("--log"))
      return console.refuse(
          {Fault::bad_input, "--log: name the part that is centred, with --part CODE"});
    return tell(args, console, {}, nullptr);
  }
  const auto code = args.read("--part", code_text);
  if (!code) return console.refuse(code.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto format = line::format_of_part(works.desk.record, *code);
    if (!format) return console.refuse(format.error());
    return tell(args, console, *format, &works);
  });
}

}  // namespace

Command centre_command() {
  return {
      .name = "centre",
      .help = "The hole against its groove: how far off, how to move the plate, the wow left.",
      .example = R"(goodside centre 0=38um 60=88um 120=52um 180=-43um 240=-93um 300=-58um

● Centred within the limit  limit 200 µm (limits of 12in-33)
  offset   93 µm towards 65°, from the hole to the groove's centre: x +38.8, y
           +84.0 µm
...)",
      .options =
          {{.name = "readings",
            .value = "ANGLE=POSITION",
            .help =
                "The groove's place at an angle: 90=53.262mm. At three angles or more, any number, "
                "repeats too.",
            .many = true},
           {.name = "--readings",
            .value = "FILE.csv",
            .help = "The same as a table: angle_deg, position (with unit) or position_mm, "
                    "position_um."},
           {.name = "--inwards", .help = "The gauge counts towards the axis, not outwards."},
           {.name = "--x-at",
            .value = "ANGLE",
            .help = "The reading's angle at which your +x axis lies.",
            .fallback = "0"},
           {.name = "--angles",
            .value = "WAY",
            .help = "How your angles grow, looking at the face: counter-clockwise, clockwise.",
            .fallback = "counter-clockwise"},
           {.name = "--spiral",
            .value = "PITCH",
            .help = "A groove followed round that is not closed runs inwards by this a turn as the "
                    "angle "
                    "grows; negative: outwards."},
           {.name = "--reading-sigma",
            .value = "LENGTH",
            .help = "Standard uncertainty of one reading, where the instrument's is known: 5um."},
           {.name = "--groove-radius",
            .value = "LENGTH",
            .help = "Of the groove read, where the positions are a gauge's and not radii."},
           {.name = "--photo",
            .value = "FILE",
            .help = "Instead of readings a PNG or JPEG photograph or scan of the whole plate: hole "
                    "and groove "
                    "circles are looked for."},
           {.name = "--hole-diameter",
            .value = "LENGTH",
            .help = "On the photograph; without it the format's."},
           {.name = "--groove-diameter",
            .value = "LENGTH",
            .help = "Of a groove circle on it, the scale by the first. Two of one centre tell the "
                    "camera's tilt; "
                    "without any the format's locked and outermost grooves.",
            .many = true},
           {.name = "--scan",
            .help = "The plate lay flat on a scanner: one groove circle will do."},
           {.name = "--format",
            .value = "NAME",
            .help = "The title's: speed, outer and inner groove, limits.",
            .fallback = "12in-33"},
           {.name = "--limit",
            .value = "LENGTH",
            .help = "Largest offset, in place of the limits'."},
           {.name = "--limits", .value = "FILE", .help = "TOML file with the limits to judge by."},
           {.name = "--part",
            .value = "CODE",
            .help =
                "A part of the record: the format is taken from its side, and what was heard on "
                "its discs is laid beside; without readings its last centring."},
           {.name = "--log", .help = "Enter the centring in the record as that part's step."},
           {.name = "--by", .value = "NAME", .help = "Who enters this; without it your user name."},
           {.name = "--in",
            .value = "DIR",
            .help = "Works folder whose limits count; without it the nearest above, if any."},
           {.name = "--heard",
            .value = "REPORT",
            .help = "Reports of discs of this plate, as --json of listen wrote them: laid beside "
                    "the reading in place of the record's.",
            .several = true},
           {.name = "--picture", .value = "FILE", .help = "Draw it: .png, .svg, .pdf."},
           {.name = "--json",
            .value = "FILE|-",
            .help = "Write the whole answer; - is standard output."}},
      .run = centre};
}

}  // namespace goodside::cli
