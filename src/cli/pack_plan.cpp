#include <fmt/format.h>

#include <algorithm>

#include "cli/commands.hpp"
#include "cli/works_open.hpp"
#include "cli/wrap.hpp"
#include "dispatch/lifting.hpp"
#include "line/plan_packing.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

/// How it is lifted lowers the limit to what the lifting equation recommends.
Outcome read_lift(const Args& args, line::DispatchRules& rules) {
  dispatch::Lift lift;
  bool told = false;
  for (const auto& [option, into] : {std::pair{"--reach", &lift.reach_m},
                                     std::pair{"--lift-from", &lift.from_height_m},
                                     std::pair{"--lift-by", &lift.travel_m}}) {
    const auto value = args.maybe(option, units::length_m);
    if (!value) return value.error();
    if (*value) *into = **value;
    told = told || *value;
  }
  if (!told) return Done{};
  const auto recommended_kg = dispatch::recommended_weight_kg(lift);
  if (!recommended_kg) return recommended_kg.error();
  rules.lifting_limit_kg =
      rules.limit_told ? std::min(rules.lifting_limit_kg, *recommended_kg) : *recommended_kg;
  rules.limit_told = true;
  return Done{};
}

/// Reads what the line tells of disc, cover and carton into the wish.
Outcome read_wish(const Args& args, line::PackingWish& wish, line::DispatchRules& rules) {
  struct Quantity {
    const char* option;
    Result<double> (*read)(std::string_view);
    std::optional<double>* into;
  };
  std::optional<double> limit;
  for (const Quantity& one :
       {Quantity{"--disc-mass", units::mass_kg, &wish.disc_mass_kg},
        Quantity{"--thickness", units::length_m, &wish.disc_thickness_m},
        Quantity{"--density", units::density_kg_per_m3, &wish.density_kg_per_m3},
        Quantity{"--wrapping", units::mass_kg, &wish.wrapping_mass_kg},
        Quantity{"--cover", units::length_m, &wish.cover_side_m},
        Quantity{"--sleeved", units::length_m, &wish.sleeved_thickness_m},
        Quantity{"--tare", units::mass_kg, &wish.tare_kg},
        Quantity{"--row", units::length_m, &wish.inner_length_m},
        Quantity{"--lift-limit", units::mass_kg, &limit},
        Quantity{"--stack", units::length_m, &wish.stack_height_m},
        Quantity{"--pallet-load", units::mass_kg, &wish.pallet_load_kg}}) {
    const auto value = args.maybe(one.option, one.read);
    if (!value) return value.error();
    *one.into = *value;
  }
  const auto count = args.maybe("--per", count_number);
  if (!count) return count.error();
  if (*count && **count < 1)
    return Error{Fault::bad_input, "--per: a carton holds at least one disc"};
  wish.count = *count;
  if (limit) {
    rules.lifting_limit_kg = *limit;
    rules.limit_told = true;
  }
  if (const auto lift = read_lift(args, rules); !lift) return lift.error();
  if (args.given("--pallet")) {
    const auto kind = dispatch::pallet_kind(args.text("--pallet"));
    if (!kind) return kind.error();
    rules.pallet = *kind;
  }
  return Done{};
}

std::string plan_text(const line::PackingPlan& plan) {
  const auto& packing = plan.packing;
  const auto& carton = packing.carton;
  std::string text = fmt::format("{} discs in {} cartons on {} pallet{}\n",
                                 packing.discs,
                                 packing.cartons(),
                                 packing.pallets,
                                 packing.pallets == 1 ? "" : "s");
  text +=
      fmt::format("  carton  {} discs, {:.2f} kg gross, {:.0f} x {:.0f} x {:.0f} mm; {} holds\n",
                  carton.discs,
                  carton.gross_kg,
                  1e3 * carton.outer_length_m,
                  1e3 * carton.outer_width_m,
                  1e3 * carton.outer_height_m,
                  word(carton.limit));
  text += fmt::format("  limit   {:.2f} kg may be lifted: {} discs\n",
                      plan.carton.lifting_limit_kg,
                      carton.by_lifting_limit);
  text += packing.last_carton_discs > 0
              ? fmt::format("  last    {} full cartons and one of {} discs, {:.2f} kg\n",
                            packing.full_cartons,
                            packing.last_carton_discs,
                            packing.last_carton_kg)
              : fmt::format("  last    {} full cartons, no part carton\n", packing.full_cartons);
  text += fmt::format(
      "  pallet  {} of {} cartons: {} to a layer, {} layer{}, {:.2f} m, {:.0f} kg{}\n",
      plan.pallet.name,
      packing.cartons_on_pallet,
      packing.layer.size(),
      packing.layers,
      packing.layers == 1 ? "" : "s",
      packing.pallet_height_m,
      packing.pallet_kg,
      packing.pallets > 1 ? fmt::format("; the last of {}", packing.last_pallet_cartons) : "");
  text += fmt::format("  gross   {:.0f} kg in all\n", packing.gross_kg);
  if (!plan.usual.empty()) {
    std::string usual;
    for (const std::string& name : plan.usual) usual += (usual.empty() ? "" : ", ") + name;
    put(text,
        usual + ": not told, usual ones taken (common practice, no source)",
        "  note    ",
        "          ");
  }
  put(text, std::string{dispatch::lifting_caution}, "", "");
  return text;
}

json::Node plan_node(const line::PackingPlan& plan) {
  const auto& packing = plan.packing;
  json::Node::List layer, usual;
  for (const auto& place : packing.layer)
    layer.push_back(
        json::Node::Object{{"x_m", place.x_m}, {"y_m", place.y_m}, {"turned", place.turned}});
  for (const std::string& name : plan.usual) usual.emplace_back(name);
  return json::Node::Object{
      {"discs", packing.discs},
      {"carton",
       json::Node::Object{{"discs", packing.carton.discs},
                          {"limit", std::string{word(packing.carton.limit)}},
                          {"by_lifting_limit", packing.carton.by_lifting_limit},
                          {"gross_kg", packing.carton.gross_kg},
                          {"outer_length_m", packing.carton.outer_length_m},
                          {"outer_width_m", packing.carton.outer_width_m},
                          {"outer_height_m", packing.carton.outer_height_m}}},
      {"lifting_limit_kg", plan.carton.lifting_limit_kg},
      {"disc_mass_kg", plan.carton.disc.disc_mass_kg},
      {"cartons", packing.cartons()},
      {"full_cartons", packing.full_cartons},
      {"last_carton_discs", packing.last_carton_discs},
      {"pallet",
       json::Node::Object{{"name", std::string{plan.pallet.name}},
                          {"layer", std::move(layer)},
                          {"layers", packing.layers},
                          {"cartons", packing.cartons_on_pallet},
                          {"gross_kg", packing.pallet_kg},
                          {"height_m", packing.pallet_height_m}}},
      {"pallets", packing.pallets},
      {"last_pallet_cartons", packing.last_pallet_cartons},
      {"gross_kg", packing.gross_kg},
      {"usual", std::move(usual)},
      {"caution", std::string{dispatch::lifting_caution}}};
}

int show(const Args& args, Console& console, line::PackingWish wish, line::DispatchRules rules) {
  if (const auto read = read_wish(args, wish, rules); !read) return console.refuse(read.error());
  if (args.given("--format")) wish.format = args.text("--format");
  const auto discs = args.maybe("--discs", count_number);
  if (!discs) return console.refuse(discs.error());
  if (*discs) wish.discs = **discs;
  const auto plan = line::plan_packing(wish, rules);
  if (!plan) return console.refuse(plan.error());
  return answer(args, console, plan_text(*plan), plan_node(*plan));
}

int run_plan(const Args& args, Console& console) {
  if (!args.given("--order")) {
    if (!args.given("--format") || !args.given("--discs"))
      return console.refuse(
          {Fault::bad_input,
           "give --order O-0001-7 of the record, or --format 12in-33 and --discs 2400"});
    return show(args, console, {}, line::usual_rules());
  }
  const auto order = args.read("--order", code_text);
  if (!order) return console.refuse(order.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto rules = line::dispatch_rules(works.place.folder);
    if (!rules) return console.refuse(rules.error());
    line::PackingWish wish{};
    if (!args.given("--discs") || !args.given("--format")) {
      auto known = line::wish_of_order(works.desk.record, *order);
      if (!known) return console.refuse(known.error());
      wish = std::move(*known);
    }
    return show(args, console, std::move(wish), *rules);
  });
}

}  // namespace

Command pack_plan_command() {
  return {
      .name = "pack plan",
      .help = "Discs to a carton, cartons to a layer, layers, pallets, the last part carton.",
      .example =
          "goodside pack plan --format 12in-33 --discs 2410 --disc-mass 140g\n\n"
          "2410 discs in 97 cartons on 2 pallets",
      .options = with_works_options(
          {{.name = "--order",
            .value = "ORDER",
            .help = "What is left to pack of an order of the record."},
           {.name = "--format", .value = "NAME", .help = "12in-33, 7in-45, 10in-78 …"},
           {.name = "--discs", .value = "N", .help = "So many discs."},
           {.name = "--disc-mass", .value = "MASS", .help = "Of one disc, bare."},
           {.name = "--thickness",
            .value = "LENGTH",
            .help = "Mean thickness of the disc; with --density in place of its mass."},
           {.name = "--density", .value = "DENSITY", .help = "Of the compound, such as 1380kg/m3."},
           {.name = "--wrapping",
            .value = "MASS",
            .help = "Sleeve, cover and inserts of one disc."},
           {.name = "--cover", .value = "LENGTH", .help = "Side of the square cover."},
           {.name = "--sleeved", .value = "LENGTH", .help = "Thickness of a disc in its cover."},
           {.name = "--tare", .value = "MASS", .help = "Of the empty carton."},
           {.name = "--row",
            .value = "LENGTH",
            .help = "Inside length of the carton along the row; without it made to fit."},
           {.name = "--per", .value = "N", .help = "Never more discs than this to a carton."},
           {.name = "--lift-limit", .value = "MASS", .help = "What a full carton may weigh."},
           {.name = "--reach",
            .value = "LENGTH",
            .help =
                "Of the hands before the ankles: the limit is then no more than the NIOSH lifting "
                "equation recommends."},
           {.name = "--lift-from",
            .value = "LENGTH",
            .help = "Height of the hands; without it 75 cm."},
           {.name = "--lift-by",
            .value = "LENGTH",
            .help = "How far up or down; without it 25 cm."},
           {.name = "--pallet", .value = "SIZE", .help = "1200x800, 1200x1000 … in mm."},
           {.name = "--stack", .value = "LENGTH", .help = "Height of deck and cartons."},
           {.name = "--pallet-load", .value = "MASS", .help = "Of the cartons on a pallet."}}),
      .run = run_plan};
}

}  // namespace goodside::cli
