#include "cli/plate_request.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <numbers>

#include "base/near_miss.hpp"
#include "disc/format.hpp"
#include "intake/metals.hpp"
#include "metal/metals.hpp"
#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

using line::PlatingRequest;
using works::KineticLaw;
using works::StartingFace;

constexpr double default_radius_m = 0.16;

/// Errors travel as exceptions within this file.
struct Refusal {
  Error error;
};
template <class T>
T taken(Result<T> result) {
  if (!result) throw Refusal{result.error()};
  return std::move(*result);
}
[[noreturn]] void refuse(const std::string& text) {
  throw Refusal{{Fault::bad_input, text}};
}

std::string cut(std::string_view text) {
  return std::string{text.substr(0, 40)};
}

std::vector<std::string_view> split(std::string_view text, char at) {
  std::vector<std::string_view> parts;
  for (std::size_t begin = 0; begin <= text.size();) {
    const std::size_t end = std::min(text.find(at, begin), text.size());
    parts.push_back(units::trimmed(text.substr(begin, end - begin)));
    begin = end + 1;
  }
  return parts;
}

template <class Thing>
Thing chosen(std::string_view option,
             std::string_view text,
             std::initializer_list<std::pair<std::string_view, Thing>> choices) {
  std::string known;
  for (const auto& [word, thing] : choices) {
    if (word == text) return thing;
    known += (known.empty() ? "" : ", ") + std::string{word};
  }
  refuse(fmt::format("{}: \"{}\" is none of {}", option, cut(text), known));
}

/// A current, or a current density on the area.
double current_or_density(std::string_view text, double area_m2) {
  if (const auto current = units::current_A(text)) return *current;
  const auto density = units::current_density_A_per_m2(text);
  if (!density)
    refuse(
        fmt::format("--ramp: \"{}\" is no current; give A or A/dm2, such as 6 A/dm2", cut(text)));
  return *density * area_m2;
}

/// "0.3 A/dm2 for 85 min, to 6 A/dm2 over 1 h, 6 A/dm2 for 3 h".
std::vector<works::CurrentStage> read_ramp(std::string_view text, double area_m2) {
  std::vector<works::CurrentStage> stages;
  for (const std::string_view part : split(text, ',')) {
    const bool rising = part.starts_with("to ");
    const std::string_view word = rising ? " over " : " for ";
    const auto at = part.find(word);
    if (at == std::string_view::npos)
      refuse(fmt::format(
          "--ramp: \"{}\" is no stage; write \"6 A/dm2 for 3 h\" or \"to 6 A/dm2 over 1 h\"",
          cut(part)));
    const double current = current_or_density(
        units::trimmed(part.substr(rising ? 3 : 0, at - (rising ? 3 : 0))), area_m2);
    const auto time = units::duration_s(units::trimmed(part.substr(at + word.size())));
    if (!time) throw Refusal{{time.error().fault, "--ramp: " + time.error().text}};
    const double from = rising ? (stages.empty() ? 0.0 : stages.back().to_A) : current;
    stages.push_back({from, current, *time});
  }
  return stages;
}

/// "length=80mm thickness=0.1mm": named quantities in one text.
struct NamedQuantity {
  std::string_view name;
  double* value;
  Result<double> (*read)(std::string_view);
  bool needed{true};
};
void read_named(std::string_view option,
                std::string_view text,
                std::vector<NamedQuantity> quantities) {
  for (const std::string_view part : split(text, ',')) {
    const auto equals = part.find('=');
    const auto name = units::trimmed(part.substr(0, equals));
    const auto found = std::ranges::find(quantities, name, &NamedQuantity::name);
    if (equals == std::string_view::npos || found == quantities.end()) {
      std::string known;
      for (const auto& one : quantities)
        known += (known.empty() ? "" : ", ") + std::string{one.name} + "=…";
      refuse(fmt::format("{}: \"{}\" is none of {}", option, cut(part), known));
    }
    const auto value = found->read(units::trimmed(part.substr(equals + 1)));
    if (!value)
      throw Refusal{
          {value.error().fault, fmt::format("{}: {}: {}", option, name, value.error().text)}};
    *found->value = *value;
    found->needed = false;
  }
  for (const auto& one : quantities)
    if (one.needed) refuse(fmt::format("{}: {}=… is missing", option, one.name));
}

Result<double> signed_number(std::string_view text) {
  const auto number = units::leading_number(text);
  if (number && number->rest.empty()) return number->value;
  return Error{Fault::bad_input, fmt::format("\"{}\" is no number", cut(text))};
}
Result<double> turn_rad(std::string_view text) {
  const auto number = units::leading_number(text);
  if (number && (number->rest == "deg" || number->rest == "°"))
    return number->value * std::numbers::pi / 180.0;
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is no turn; give degrees, such as 35 deg", cut(text))};
}

class Reader {
 public:
  Reader(const Args& args, const PlateStart& start) : args_{args}, start_{start} {}

  PlatingRequest read() {
    read_metal();
    const auto diameter = taken(args_.maybe("--diameter", units::length_m));
    cell_from_table();
    request_.disc_radius_m = diameter      ? 0.5 * *diameter
                             : table_cell_ ? table_cell_->disc_radius_m
                                           : default_radius_m;
    request_.area_m2 = taken(args_.maybe("--area", units::area_m2));
    const double area_m2 = request_.area_m2.value_or(std::numbers::pi * request_.disc_radius_m *
                                                     request_.disc_radius_m);
    if (!(area_m2 > 0.0)) refuse("the area is 0; give a --diameter or an --area above it");
    read_run(area_m2);
    read_stress();
    if (wants_cell()) read_cell();
    return std::move(request_);
  }

 private:
  void read_metal() {
    const auto built_in = metal::built_in_metals();
    room_.metals.assign(built_in.begin(), built_in.end());
    const std::string file = args_.given("--metals") ? args_.text("--metals") : start_.metals_file;
    if (!file.empty()) room_ = taken(intake::read_metals(file, std::move(room_.metals)));
    const std::string& name =
        args_.given("--metal") || start_.metal.empty() ? args_.text("--metal") : start_.metal;
    const auto found = std::ranges::find(room_.metals, name, &works::PlatingMetal::name);
    if (found == room_.metals.end()) {
      std::vector<std::string> known;
      for (const auto& one : room_.metals) known.push_back(one.name);
      refuse(fmt::format(
          "--metal: no metal is called \"{}\"; {}",
          cut(name),
          suggestion(name, known).value_or(fmt::format("there are {}", fmt::join(known, ", ")))));
    }
    request_.metal = *found;
    if (const auto efficiency = taken(args_.maybe("--efficiency", units::fraction)))
      request_.metal.cathode_efficiency = *efficiency;
  }

  void read_run(double area_m2) {
    request_.face = args_.given("--start")
                        ? chosen<StartingFace>("--start",
                                               args_.text("--start"),
                                               {{"bare", StartingFace::bare},
                                                {"silvered", StartingFace::silvered},
                                                {"passivated", StartingFace::passivated}})
                        : start_.face;
    const auto current = taken(args_.maybe("--current", units::current_A));
    const auto density = taken(args_.maybe("--current-density", units::current_density_A_per_m2));
    if (current && density) refuse("give --current or --current-density, not both");
    if (current) request_.full_current_A = *current;
    if (density) request_.full_current_A = *density * area_m2;
    if (args_.given("--ramp")) {
      if (current || density)
        refuse("--ramp has its own currents; leave --current and --current-density out");
      request_.stages = read_ramp(args_.text("--ramp"), area_m2);
    }
    request_.time_s = taken(args_.maybe("--time", units::duration_s));
    request_.target_m = taken(args_.maybe("--target", units::length_m));
  }

  void read_stress() {
    request_.stress_Pa = taken(args_.maybe("--stress", units::stress_Pa));
    if (args_.given("--strip")) {
      line::StripGiven strip;
      read_named("--strip",
                 args_.text("--strip"),
                 {{"length", &strip.length_m, units::length_m},
                  {"thickness", &strip.thickness_m, units::length_m},
                  {"deposit", &strip.deposit_m, units::length_m},
                  {"deflection", &strip.deflection_m, units::length_m},
                  {"modulus", &strip.elastic_modulus_Pa, units::stress_Pa, false},
                  {"poisson", &strip.poisson_ratio, signed_number, false}});
      request_.strip = strip;
    }
    if (args_.given("--spiral")) {
      line::SpiralGiven spiral;
      read_named("--spiral",
                 args_.text("--spiral"),
                 {{"constant", &spiral.constant_Nm_per_rad, units::torsion_Nm_per_rad},
                  {"turn", &spiral.turn_rad, turn_rad},
                  {"pitch", &spiral.pitch_m, units::length_m},
                  {"thickness", &spiral.thickness_m, units::length_m},
                  {"deposit", &spiral.deposit_m, units::length_m}});
      request_.spiral = spiral;
    }
    request_.base_m = taken(args_.maybe("--base-thickness", units::length_m));
    const bool stressed = request_.stress_Pa || request_.strip || request_.spiral;
    if (!request_.base_m && stressed && start_.base_m > 0.0) request_.base_m = start_.base_m;
  }

  void cell_from_table() {
    if (!args_.given("--cell")) return;
    const std::string& name = args_.text("--cell");
    const auto found = std::ranges::find(room_.cells, name, &intake::MetalRoom::Cell::name);
    if (found == room_.cells.end())
      refuse(
          fmt::format("--cell: no cell is called \"{}\"; write a table [cells.\"{}\"] in the file "
                      "of --metals or goodside.toml",
                      cut(name),
                      cut(name)));
    table_cell_ = found->cell;
  }

  static constexpr std::array cell_options{"--spread",
                                           "--cell",
                                           "--cell-radius",
                                           "--level",
                                           "--anode-distance",
                                           "--anode-radius",
                                           "--anode-hole",
                                           "--holder-radius",
                                           "--rim",
                                           "--conductivity",
                                           "--shield",
                                           "--within",
                                           "--kinetics",
                                           "--picture",
                                           "--cell-picture"};
  [[nodiscard]] bool wants_cell() const {
    return std::ranges::any_of(cell_options, [&](const char* one) { return args_.given(one); });
  }

  void length(const char* option, double& value) {
    if (const auto given = taken(args_.maybe(option, units::length_m))) {
      value = *given;
      if (!(value > 0.0))
        refuse(fmt::format("{}: {:g} mm cannot be; give a length above 0", option, value * 1e3));
    }
  }

  void read_cell() {
    line::CellGiven given;
    if (table_cell_) given.cell = *table_cell_;
    auto& cell = given.cell;
    length("--cell-radius", cell.cell_radius_m);
    length("--level", cell.level_m);
    length("--anode-distance", cell.anode_distance_m);
    length("--anode-radius", cell.anode_radius_m);
    length("--anode-hole", cell.anode_inner_radius_m);
    length("--holder-radius", cell.holder_radius_m);
    length("--rim", cell.rim_height_m);
    if (const auto conductivity =
            taken(args_.maybe("--conductivity", units::conductivity_S_per_m))) {
      if (!(*conductivity > 0.0))
        refuse("--conductivity: 0 S/m conducts nothing; give one above 0, such as 8 S/m");
      cell.conductivity_S_per_m = *conductivity;
    }
    if (args_.given("--shield")) read_shield(given);
    length("--shield-thickness", given.shield_thickness_m);
    if (cell.shield && args_.given("--shield-thickness"))
      cell.shield->thickness_m = given.shield_thickness_m;
    if (cell.shield) length("--shield-radius", cell.shield->outer_radius_m);
    given.wanted_evenness = taken(args_.maybe("--within", units::fraction));
    if (given.wanted_evenness && !(*given.wanted_evenness > 0.0))
      refuse("--within: 0 % is never reached; give one above 0, such as 5 %");
    read_kinetics(given.kinetics);
    read_band(given);
    request_.cell = std::move(given);
  }

  void read_shield(line::CellGiven& given) {
    const std::string& text = args_.text("--shield");
    given.cell.shield.reset();
    if (text == "none") return;
    if (text == "best") {
      given.seek_shield = true;
      return;
    }
    const auto at = text.find('@');
    if (at == std::string::npos)
      refuse(fmt::format(
          "--shield: \"{}\" is none of none, best, OPENING@DISTANCE such as \"280mm@50mm\"",
          cut(text)));
    const auto opening = units::length_m(std::string_view{text}.substr(0, at));
    const auto distance = units::length_m(std::string_view{text}.substr(at + 1));
    if (!opening) throw Refusal{{opening.error().fault, "--shield: " + opening.error().text}};
    if (!distance) throw Refusal{{distance.error().fault, "--shield: " + distance.error().text}};
    given.cell.shield = works::CellShield{0.5 * *opening, *distance, 0.0, 0.0};
  }

  void read_kinetics(works::Kinetics& kinetics) {
    kinetics.law = chosen<KineticLaw>("--kinetics",
                                      args_.text("--kinetics"),
                                      {{"primary", KineticLaw::primary},
                                       {"linear", KineticLaw::linear},
                                       {"tafel", KineticLaw::tafel},
                                       {"butler-volmer", KineticLaw::butler_volmer}});
    const auto positive = [&](const char* option, double value) {
      if (!(value > 0.0)) refuse(fmt::format("{}: give a value above 0", option));
      return value;
    };
    if (const auto slope = taken(args_.maybe("--tafel-slope", units::voltage_V)))
      kinetics.slope_V_per_decade = positive("--tafel-slope", *slope);
    if (const auto exchange =
            taken(args_.maybe("--exchange-current", units::current_density_A_per_m2)))
      kinetics.exchange_current_density_A_per_m2 = positive("--exchange-current", *exchange);
    if (const auto resistance =
            taken(args_.maybe("--surface-resistance", units::surface_resistance_ohm_m2)))
      kinetics.resistance_ohm_m2 = positive("--surface-resistance", *resistance);
    if (const auto cathodic = taken(args_.maybe("--cathodic-coefficient", signed_number)))
      kinetics.cathodic_coefficient = positive("--cathodic-coefficient", *cathodic);
    if (const auto anodic = taken(args_.maybe("--anodic-coefficient", signed_number)))
      kinetics.anodic_coefficient = positive("--anodic-coefficient", *anodic);
    if (const auto temperature = taken(args_.maybe("--temperature", units::temperature_K)))
      kinetics.temperature_K = *temperature;
    if (kinetics.law == KineticLaw::linear && kinetics.resistance_ohm_m2 == 0.0)
      refuse("--kinetics linear needs --surface-resistance, such as \"5 ohm cm2\"");
  }

  void read_band(line::CellGiven& given) {
    if (args_.given("--format")) {
      const auto format = taken(args_.read("--format", disc::format));
      given.band_inner_radius_m = format.inner_radius_m;
      given.band_outer_radius_m = format.outer_radius_m;
    } else if (const auto own = disc::format(start_.format); own) {
      given.band_inner_radius_m = own->inner_radius_m;
      given.band_outer_radius_m = own->outer_radius_m;
    } else {
      // The format of its size, or where none fits, from 0.3 to 0.9 of the disc.
      const double a = request_.disc_radius_m;
      given.band_inner_radius_m = 0.3 * a;
      given.band_outer_radius_m = 0.9 * a;
      for (const char* name : {"7in-45", "10in-78", "12in-33"}) {
        const auto format = disc::format(name);
        if (format && format->outer_radius_m <= 0.97 * a && format->outer_radius_m > 0.8 * a) {
          given.band_inner_radius_m = format->inner_radius_m;
          given.band_outer_radius_m = format->outer_radius_m;
        }
      }
    }
    if (const auto inner = taken(args_.maybe("--inner-radius", units::length_m)))
      given.band_inner_radius_m = *inner;
    if (const auto outer = taken(args_.maybe("--outer-radius", units::length_m)))
      given.band_outer_radius_m = *outer;
  }

  const Args& args_;
  const PlateStart& start_;
  PlatingRequest request_;
  intake::MetalRoom room_;
  std::optional<works::PlatingCell> table_cell_;
};

}  // namespace

std::vector<Option> plate_options() {
  return {
      {.name = "--metal",
       .value = "NAME",
       .help = "nickel, copper, chromium, nickel-flash, chromium-flash, or one of --metals.",
       .fallback = "nickel"},
      {.name = "--metals",
       .value = "FILE.toml",
       .help = "The works' own metals and cells; without it those of goodside.toml with --in or "
               "--part."},
      {.name = "--diameter",
       .value = "Q",
       .help = "Of the disc that is plated, one face. Without it 320 mm, or the cell's."},
      {.name = "--area", .value = "Q", .help = "Instead, such as 8 dm2; then no spread."},
      {.name = "--current", .value = "Q", .help = "The full current, such as 48 A."},
      {.name = "--current-density",
       .value = "Q",
       .help = "Instead, such as \"6 A/dm2\"; without both the metal's usual one."},
      {.name = "--start",
       .value = "FACE",
       .help = "bare, silvered or passivated: a gentle beginning before the full current. Without "
               "it bare, or what the part's last step says."},
      {.name = "--ramp",
       .value = "STAGES",
       .help = "Your own stages, such as \"0.3 A/dm2 for 85 min, to 6 A/dm2 over 1 h, 6 A/dm2 for "
               "3 h\"; the last is held on for a target."},
      {.name = "--time", .value = "Q", .help = "How long the whole run lasts."},
      {.name = "--target",
       .value = "Q",
       .help = "Run until so much is laid; with a cell, until the thinnest place of the groove "
               "band has it."},
      {.name = "--efficiency",
       .value = "F",
       .help = "Of the cathode, such as 0.96; weigh a part to know yours."},
      {.name = "--spread",
       .help = "Thickness along the radius, in a cell of ordinary proportions where nothing else "
               "is said."},
      {.name = "--cell", .value = "NAME", .help = "A cell of --metals or goodside.toml."},
      {.name = "--cell-radius",
       .value = "Q",
       .help = "To the wall; of an upright disc to the nearest wall or the level."},
      {.name = "--level",
       .value = "Q",
       .help = "Of the bath above the disc's face, or to the wall behind the anode."},
      {.name = "--anode-distance", .value = "Q", .help = "From the disc's face to the basket."},
      {.name = "--anode-radius", .value = "Q", .help = "Of the basket."},
      {.name = "--anode-hole", .value = "Q", .help = "Radius of a hole in the basket."},
      {.name = "--holder-radius", .value = "Q", .help = "Of the insulating holder."},
      {.name = "--rim", .value = "Q", .help = "Height of the holder's edge above the face."},
      {.name = "--conductivity", .value = "Q", .help = "Of the bath, such as \"8 S/m\"."},
      {.name = "--shield",
       .value = "WHAT",
       .help = "none, best, or an opening's diameter and its distance from the disc, such as "
               "280mm@50mm."},
      {.name = "--shield-thickness", .value = "Q", .help = "Of the shield.", .fallback = "5 mm"},
      {.name = "--shield-radius",
       .value = "Q",
       .help = "Its outer edge; without it it closes on the wall."},
      {.name = "--within",
       .value = "PCT",
       .help = "How even the groove band is wanted, such as 5 %: half the difference over half the "
               "sum."},
      {.name = "--kinetics",
       .value = "LAW",
       .help = "primary, linear, tafel or butler-volmer.",
       .fallback = "tafel"},
      {.name = "--tafel-slope", .value = "Q", .help = "A decade, such as 120 mV."},
      {.name = "--exchange-current", .value = "Q", .help = "Density, such as 0.01 A/m2."},
      {.name = "--surface-resistance", .value = "Q", .help = "For linear, such as \"5 ohm cm2\"."},
      {.name = "--cathodic-coefficient",
       .value = "N",
       .help = "For butler-volmer; 0.5 without it."},
      {.name = "--anodic-coefficient", .value = "N", .help = "For butler-volmer; 0.5 without it."},
      {.name = "--temperature", .value = "Q", .help = "For butler-volmer; 25 °C without it."},
      {.name = "--format",
       .value = "NAME",
       .help = "Whose groove band is meant, such as 12in-33; without it that of the disc's size."},
      {.name = "--inner-radius", .value = "Q", .help = "Of the groove band."},
      {.name = "--outer-radius", .value = "Q", .help = "Of the groove band."},
      {.name = "--stress",
       .value = "Q",
       .help = "In the deposit, tension positive, such as 40 MPa."},
      {.name = "--strip",
       .value = "READING",
       .help = "Stress from a strip: \"length=80mm, thickness=0.3mm, deposit=8um, "
               "deflection=4mm\", also modulus=, poisson= (brass)."},
      {.name = "--spiral",
       .value = "READING",
       .help = "From a spiral: \"constant=0.4 N mm/deg, turn=35deg, pitch=8mm, thickness=0.25mm, "
               "deposit=10um\"."},
      {.name = "--base-thickness",
       .value = "Q",
       .help = "Of the metal beneath, for the bow that the stress gives."}};
}

Result<PlatingRequest> plate_request(const Args& args, const PlateStart& start) {
  try {
    return Reader{args, start}.read();
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

}  // namespace goodside::cli
