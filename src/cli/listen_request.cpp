#include "cli/listen_request.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "disc/format.hpp"
#include "intake/bench_profile.hpp"
#include "intake/limits.hpp"
#include "intake/pitch_profile.hpp"
#include "intake/works_folder.hpp"
#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

using intake::BenchProfile;

template <class Value, std::size_t count>
using Words = std::array<std::pair<std::string_view, Value>, count>;

constexpr Words<works::ReferenceKind, 5> reference_kinds{
    {{"file", works::ReferenceKind::file},
     {"cutting feed", works::ReferenceKind::cutting_feed},
     {"mother", works::ReferenceKind::mother},
     {"approved pressing", works::ReferenceKind::approved_pressing},
     {"consensus", works::ReferenceKind::consensus}}};

constexpr Words<draw::View, 4> views{{{"disc", draw::View::disc},
                                      {"mother", draw::View::mother},
                                      {"stamper", draw::View::stamper},
                                      {"father", draw::View::father}}};

constexpr Words<Show, 3> shows{
    {{"portrait", Show::portrait}, {"wow", Show::wow}, {"levels", Show::levels}}};

constexpr Words<draw::Paper, 2> papers{{{"A4", draw::a4_paper}, {"Letter", draw::letter_paper}}};

constexpr Words<works::After, 4> treatments{{{"as found", works::After::as_found},
                                             {"brushed", works::After::brushed},
                                             {"washed", works::After::washed},
                                             {"reseated", works::After::reseated}}};

constexpr Words<bool, 2> surfaces{{{"vinyl", false}, {"shellac", true}}};  // to shellac_type

/// A parser of one word out of a list.
template <class Value, std::size_t count>
auto one_of(const Words<Value, count>& words) {
  return [&words](std::string_view text) -> Result<Value> {
    std::string choices;
    for (const auto& [word, value] : words) {
      if (word == text) return value;
      choices += fmt::format("{}\"{}\"", choices.empty() ? "" : ", ", word);
    }
    return Error{Fault::bad_input, fmt::format("\"{}\" is none of {}", text, choices)};
  };
}

Result<double> plain_number(std::string_view text, double low, double high, const char* example) {
  const auto number = units::leading_number(units::trimmed(text));
  if (!number || !number->rest.empty() || !(number->value >= low && number->value <= high))
    return Error{
        Fault::bad_input,
        fmt::format(
            "\"{}\" is not a number from {:g} to {:g}; for instance {}", text, low, high, example)};
  return number->value;
}

Result<double> clock_ppm(std::string_view text) {
  return plain_number(text, -1000.0, 1000.0, "-12.5");
}

Result<int> jobs(std::string_view text) {
  const auto number = plain_number(text, 1.0, 256.0, "2");
  if (!number) return number.error();
  if (*number != std::floor(*number))
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is not a whole number; for instance 2", text)};
  return static_cast<int>(*number);
}

Result<works::Mark> mark(std::string_view text) {
  const auto equals = text.find('=');
  if (equals == std::string_view::npos)
    return Error{
        Fault::bad_input,
        fmt::format("\"{}\" is no mark; write time=radius, for instance 3:42=128mm", text)};
  const auto time_s = units::duration_s(text.substr(0, equals));
  if (!time_s) return time_s.error();
  const auto radius_m = units::length_m(text.substr(equals + 1));
  if (!radius_m) return radius_m.error();
  return works::Mark{.programme_s = *time_s, .radius_m = *radius_m};
}

struct Landmark {
  double angle_deg{};
  std::string name;
};

Result<Landmark> landmark(std::string_view text) {
  const auto equals = text.find('=');
  const auto name = equals == std::string_view::npos ? std::string_view{}
                                                     : units::trimmed(text.substr(equals + 1));
  if (name.empty())
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no landmark; write angle=name, for instance "
                             "\"133=matrix number\"",
                             text)};
  const auto angle_deg = plain_number(text.substr(0, equals), -360.0, 360.0, "133");
  if (!angle_deg) return angle_deg.error();
  return Landmark{*angle_deg, std::string{name}};
}

/// "as found,brushed": one word a play.
Result<std::vector<works::After>> treatment_list(std::string_view text) {
  std::vector<works::After> all;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t comma = std::min(text.find(',', from), text.size());
    const auto one = one_of(treatments)(units::trimmed(text.substr(from, comma - from)));
    if (!one) return one.error();
    all.push_back(*one);
    from = comma + 1;
  }
  return all;
}

/// What was done before each capture, where they are plays of one disc.
Result<std::vector<works::After>> plays_of(const Args& args, std::size_t captures) {
  if (!args.given("--plays")) return std::vector<works::After>{};
  const auto plays = args.read("--plays", treatment_list);
  if (!plays) return plays.error();
  if (plays->size() != captures || captures < 2)
    return Error{
        Fault::bad_input,
        fmt::format("--plays: {} word{} for {} capture{}; give one a capture, two or more, as "
                    "in \"as found,brushed\"",
                    plays->size(),
                    plays->size() == 1 ? "" : "s",
                    captures,
                    captures == 1 ? "" : "s")};
  return *plays;
}

/// The option's value where typed, or else what the bench says.
template <class Parser>
Outcome take(const Args& args,
             const char* name,
             Parser parse,
             const std::optional<double>& bench,
             std::optional<double>& into) {
  into = bench;
  if (!args.given(name)) return Done{};
  const auto value = args.read(name, parse);
  if (!value) return value.error();
  into = *value;
  return Done{};
}

Error side_missing(const std::string& what) {
  return {
      Fault::bad_input,
      what +
          " is missing; give --format (for instance 12in-33), or --rpm, --outer-radius and one of "
          "--inner-radius and --pitch"};
}

Outcome check_length(const char* name,
                     const std::optional<double>& value_m,
                     double low,
                     double high) {
  if (!value_m || (*value_m >= low && *value_m <= high)) return Done{};
  return Error{
      Fault::out_of_range,
      fmt::format(
          "{}: {:.4g} mm; use {:g} mm to {:g} mm", name, *value_m * 1e3, low * 1e3, high * 1e3)};
}

/// Speeds that coarse grooves are cut at.
bool is_coarse(double rpm) {
  return rpm > 70.0 && rpm < 85.0;
}

/// The format's side with what was typed, or else what the bench says, laid over it. A typed format
/// retires the bench's own side.
Result<works::CutSide> measured_side(const Args& args, const BenchProfile& profile) {
  const bool typed = args.given("--format");
  const BenchProfile bench = typed ? BenchProfile{} : profile;
  const std::string format = typed ? args.text("--format") : bench.format.value_or("");
  works::CutSide side;
  side.rpm = 0.0;
  if (!format.empty()) {
    auto known = disc::cut_side(format);
    if (!known) return Error{known.error().fault, "--format: " + known.error().text};
    side = std::move(*known);
  }
  std::optional<double> rpm, outer_m, inner_m, pitch_m;
  for (const Outcome& taken :
       {take(args, "--rpm", units::rotation_rpm, bench.rpm, rpm),
        take(args, "--outer-radius", units::length_m, bench.outer_radius_m, outer_m),
        take(args, "--inner-radius", units::length_m, bench.inner_radius_m, inner_m),
        take(args, "--pitch", units::pitch_m, bench.pitch_m, pitch_m),
        check_length("--outer-radius", outer_m, 0.03, 0.25),
        check_length("--inner-radius", inner_m, 0.025, 0.25)})
    if (!taken) return taken.error();
  side.rpm = rpm.value_or(side.rpm);
  side.outer_radius_m = outer_m.value_or(side.outer_radius_m);
  // A pitch without a radius to end at: the programme's length says where it ends.
  side.inner_radius_m = inner_m.value_or(pitch_m ? 0.0 : side.inner_radius_m);
  side.pitch_m = pitch_m.value_or(side.pitch_m);
  if (format.empty()) {
    side.shellac_type = is_coarse(side.rpm);
    side.stereo = !is_coarse(side.rpm);
  }
  if (side.rpm <= 0.0) return side_missing("--rpm");
  if (side.outer_radius_m <= 0.0) return side_missing("--outer-radius");
  if (side.inner_radius_m <= 0.0 && side.pitch_m <= 0.0)
    return side_missing("--inner-radius or --pitch");
  return side;
}

Result<works::CutSide> read_side(const Args& args, const BenchProfile& bench) {
  auto side = measured_side(args, bench);
  if (!side) return side.error();
  const auto surface = args.maybe("--surface", one_of(surfaces));
  if (!surface) return surface.error();
  side->shellac_type = surface->value_or(side->shellac_type);
  if (args.given("--pitch-profile")) {
    auto profile = intake::read_pitch_profile(args.text("--pitch-profile"));
    if (!profile) return profile.error();
    side->pitch_profile = std::move(*profile);
  }
  for (const std::string& text : args.all("--mark")) {
    const auto read = mark(text);
    if (!read) return Error{read.error().fault, "--mark: " + read.error().text};
    side->marks.push_back(*read);
  }
  return side;
}

/// True when the inner radius is only what the format usually has.
bool has_usual_inner_radius(const Args& args,
                            const works::CutSide& side,
                            const BenchProfile& bench) {
  if (side.format == "custom" || args.given("--inner-radius") || args.given("--pitch"))
    return false;
  return args.given("--format") || (!bench.inner_radius_m && !bench.pitch_m);
}

Result<listen::Bench> read_bench(const Args& args, const BenchProfile& profile) {
  std::optional<double> length_m, mount_m, ppm;
  for (const Outcome& taken :
       {take(args, "--arm-length", units::length_m, profile.arm_length_m, length_m),
        take(args, "--arm-mount", units::length_m, profile.arm_mount_m, mount_m),
        take(args, "--clock-ppm", clock_ppm, profile.clock_error_ppm, ppm),
        check_length("--arm-length", length_m, 0.1, 0.6),
        check_length("--arm-mount", mount_m, 0.1, 0.6)})
    if (!taken) return taken.error();
  if (length_m.has_value() != mount_m.has_value())
    return Error{
        Fault::bad_input,
        fmt::format("{} is missing; the arm is known by --arm-length and --arm-mount together",
                    length_m ? "--arm-mount" : "--arm-length")};
  if (length_m && *length_m <= *mount_m)
    return Error{
        Fault::bad_input,
        fmt::format(
            "--arm-length, pivot to stylus, {:.1f} mm, is not longer than --arm-mount, pivot to "
            "spindle, {:.1f} mm; have they been exchanged?",
            *length_m * 1e3,
            *mount_m * 1e3)};
  listen::Bench bench;
  if (length_m) bench.arm = {.effective_length_m = *length_m, .mounting_distance_m = *mount_m};
  bench.clock_error_ppm = ppm.value_or(0.0);
  bench.clock_calibrated = ppm.has_value();
  return bench;
}

std::string curve_names() {
  std::string names;
  for (const disc::Curve& curve : disc::curves())
    names += fmt::format("{}{}", names.empty() ? "" : ", ", curve.name);
  return names;
}

/// The curve as typed, or else as the bench says.
Result<std::optional<disc::Curve>> playback_curve(const Args& args, const BenchProfile& bench) {
  const bool typed = args.given("--equalise");
  if (!typed && !bench.equalise) return std::optional<disc::Curve>{};
  const auto curve = disc::curve(typed ? args.text("--equalise") : *bench.equalise);
  if (!curve)
    return Error{Fault::bad_input,
                 fmt::format("{}: {}",
                             typed ? "--equalise" : fmt::format("bench '{}', equalise", bench.name),
                             curve.error().text)};
  return std::optional{*curve};
}

std::string works_file(const std::string& folder) {
  return folder + "/" + intake::works_file_name;
}

Result<BenchProfile> named_bench(const Args& args, const std::optional<std::string>& folder) {
  if (!args.given("--bench")) return BenchProfile{};
  if (!folder)
    return Error{Fault::not_found,
                 "--bench: no works folder here or above; name it with --in DIR or GOODSIDE_DIR"};
  return intake::read_bench(works_file(*folder), args.text("--bench"));
}

Result<works::Limits> chosen_limits(const Args& args,
                                    const std::optional<std::string>& folder,
                                    const works::CutSide& side) {
  // A coarse-groove side by figures alone is no vinyl: it has the limits of its commonest kin.
  const std::string format = side.format == "custom" && side.shellac_type ? "10in-78" : side.format;
  if (args.given("--limits")) return intake::read_limits(args.text("--limits"), format);
  if (folder) return intake::read_limits(works_file(*folder), format);
  return intake::built_in_limits(format);
}

/// What counts programme time or names the reference needs one; peers stand in where there is none.
Outcome check_reference(const Args& args) {
  const bool given = args.given("--reference");
  if (given && args.given("--peers"))
    return Error{
        Fault::bad_input,
        "--reference and --peers exclude each other; peers stand in where there is no reference"};
  if (args.given("--save-reference") && !args.given("--peers"))
    return Error{Fault::bad_input, "--save-reference keeps what --peers vote; give peers"};
  if (args.given("--reference-kind") && args.given("--peers"))
    return Error{Fault::bad_input, "--reference-kind is of a --reference; peers make a consensus"};
  if (args.given("--plays") && !given)
    return Error{Fault::bad_input,
                 "--plays is of use with --reference alone; give it or leave --plays out"};
  if (given || args.given("--peers")) return Done{};
  for (const char* option : {"--mark", "--pitch-profile", "--reference-kind"})
    if (args.given(option))
      return Error{
          Fault::bad_input,
          fmt::format(
              "{} is of use with --reference alone; give it or leave {} out", option, option)};
  return Done{};
}

}  // namespace

std::vector<Option> listen_options() {
  return {
      {.name = "captures",
       .value = "CAPTURE",
       .help = "The recordings of the played side: WAV, RF64, W64, FLAC.",
       .required = true,
       .many = true},
      {.name = "--reference",
       .value = "REF",
       .help =
           "The audio that was cut, a captured mother or approved pressing, or a saved consensus. "
           "Without it or peers the capture is heard alone."},
      {.name = "--peers",
       .value = "FILE...",
       .help = "No cut's audio: captures of other discs of this cut, which vote the reference.",
       .several = true},
      {.name = "--save-reference",
       .value = "FILE.wav",
       .help = "Keep what the peers voted, to use as --reference."},
      {.name = "--reference-kind",
       .value = "KIND",
       .help =
           "file, \"cutting feed\", mother, \"approved pressing\" or consensus. Without it what "
           "the note beside the reference says, or else file."},
      {.name = "--plays",
       .value = "WORDS",
       .help =
           "The captures are plays of one disc, in order, and what was done before each: "
           "\"as found,brushed,reseated\" or washed. Tells dust from what is pressed in, and the "
           "hole from the seating."},
      {.name = "--format",
       .value = "NAME",
       .help = "Size and speed: 7in-45, 10in-78, 12in-33 and so on. It stands for the four below."},
      {.name = "--rpm", .value = "N", .help = "Turns a minute of the cut: 33 1/3, 45, 78.26."},
      {.name = "--outer-radius",
       .value = "Q",
       .help = "Groove radius where the programme begins: 146mm."},
      {.name = "--inner-radius", .value = "Q", .help = "Groove radius where it ends: 60 mm."},
      {.name = "--pitch", .value = "Q", .help = "Mean groove pitch: 0.1mm, 240 lpi."},
      {.name = "--surface",
       .value = "NAME",
       .help = "vinyl or shellac. Without it by the speed: shellac at 78."},
      {.name = "--pitch-profile", .value = "FILE", .help = "CSV of programme time and pitch."},
      {.name = "--mark",
       .value = "T=R",
       .help = "A radius measured at a programme time: 3:42=128mm.",
       .many = true},
      {.name = "--arm-length", .value = "Q", .help = "Of the playing arm, pivot to stylus: 230mm."},
      {.name = "--arm-mount", .value = "Q", .help = "Pivot to spindle: 212mm."},
      {.name = "--clock-ppm", .value = "X", .help = "Error of the sound card's clock; + is fast."},
      {.name = "--equalise",
       .value = "CURVE",
       .help = fmt::format("The captures, and a mother or approved pressing they are held against, "
                           "were recorded flat and are heard through {}, or time constants in "
                           "microseconds: 3180/318/75. Without it they are equalised already.",
                           curve_names())},
      {.name = "--bench",
       .value = "NAME",
       .help = "A bench of the works folder; options override it."},
      {.name = "--limits", .value = "FILE", .help = "TOML file with the limits to judge by."},
      {.name = "--json",
       .value = "FILE|DIR|-",
       .help = "Write the whole report; - is standard output."},
      {.name = "--picture",
       .value = "FILE|DIR",
       .help = "Draw the disc portrait: .png, .svg or .pdf."},
      {.name = "--show",
       .value = "WHAT",
       .help = "What the picture shows: portrait, wow or levels.",
       .fallback = "portrait"},
      {.name = "--report",
       .value = "FILE|DIR",
       .help = "Write one HTML page to hand on, with pictures and the worst faults to hear."},
      {.name = "--finder",
       .value = "FILE|DIR",
       .help = "Draw a 1:1 print to find the faults by, on disc or metal (--view): .pdf or .svg."},
      {.name = "--keep",
       .value = "FILE",
       .help = "Keep how the cut lay under the capture, so that the server can let any window be "
               "heard again. Of one capture."},
      {.name = "--progress-lines",
       .help = "Write the share done to standard error, a line each: for a program that waits."},
      {.name = "--paper",
       .value = "SIZE",
       .help = "Of the finder: A4 or Letter.",
       .fallback = "A4"},
      {.name = "--landmark",
       .value = "DEG=NAME",
       .help = "A mark on the disc to count angles from: \"133=matrix number\"."},
      {.name = "--view",
       .value = "FACE",
       .help = "Face in the pictures: disc, mother, stamper or father.",
       .fallback = "disc"},
      {.name = "--shrinkage",
       .value = "X",
       .help = "Of the compound, for radii on metal: 0.4 % or 0.004.",
       .fallback = "0"},
      {.name = "--title", .value = "TEXT", .help = "Title and side, for the picture."},
      {.name = "--date", .value = "TEXT", .help = "Date, for the picture: 2026-11-25."},
      {.name = "--dark", .help = "Draw for a darkened bench."},
      {.name = "--jobs", .value = "N", .help = "Cores to use; without it all."},
      {.name = "--in",
       .value = "DIR",
       .help = "The works folder, where it is not this one or above."},
  };
}

Result<ListenRequest> read_listen_request(const Args& args,
                                          const std::optional<std::string>& environment_folder) {
  intake::WorksFolderSearch search{.asked_for = std::nullopt, .environment = environment_folder};
  if (args.given("--in")) search.asked_for = args.text("--in");
  const auto folder = intake::find_works_folder(search);
  if (!folder) return folder.error();
  const auto profile = named_bench(args, *folder);
  if (!profile) return profile.error();

  ListenRequest request;
  request.captures = args.all("captures");
  request.reference = args.text("--reference");
  if (const auto whole = check_reference(args); !whole) return whole.error();
  auto side = read_side(args, *profile);
  if (!side) return side.error();
  request.options.side = std::move(*side);
  request.usual_inner_radius = has_usual_inner_radius(args, request.options.side, *profile);
  const auto bench = read_bench(args, *profile);
  if (!bench) return bench.error();
  request.options.bench = *bench;
  const auto equalise = playback_curve(args, *profile);
  if (!equalise) return equalise.error();
  request.equalise = *equalise;
  auto limits = chosen_limits(args, *folder, request.options.side);
  if (!limits) return limits.error();
  request.options.limits = std::move(*limits);
  if (const auto whole = check_reference(args); !whole) return whole.error();
  request.peers = args.all("--peers");
  request.save_reference = args.text("--save-reference");
  auto plays = plays_of(args, request.captures.size());
  if (!plays) return plays.error();
  request.plays = std::move(*plays);
  const auto kind = args.maybe("--reference-kind", one_of(reference_kinds));
  if (!kind) return kind.error();
  request.kind = *kind;
  const auto cores = args.maybe("--jobs", jobs);
  if (!cores) return cores.error();
  request.options.jobs = cores->value_or(0);

  request.json = args.text("--json");
  request.picture = args.text("--picture");
  request.report = args.text("--report");
  request.finder = args.text("--finder");
  request.keep = args.text("--keep");
  request.progress_lines = args.given("--progress-lines");
  const auto show = args.read("--show", one_of(shows));
  if (!show) return show.error();
  request.show = *show;
  const auto paper = args.read("--paper", one_of(papers));
  if (!paper) return paper.error();
  request.paper = *paper;
  const auto mark_angle = args.maybe("--landmark", landmark);
  if (!mark_angle) return mark_angle.error();
  if (*mark_angle) {
    request.portrait.landmark_angle_deg = (*mark_angle)->angle_deg;
    request.portrait.landmark = (*mark_angle)->name;
  }
  const auto view = args.read("--view", one_of(views));
  if (!view) return view.error();
  const auto shrinkage = args.read("--shrinkage", units::fraction);
  if (!shrinkage) return shrinkage.error();
  request.portrait.view = *view;
  request.portrait.shrinkage = *shrinkage;
  request.portrait.dark = args.given("--dark");
  request.portrait.title = args.text("--title");
  request.portrait.date = args.text("--date");
  return request;
}

}  // namespace goodside::cli
