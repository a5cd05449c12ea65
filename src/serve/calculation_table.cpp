#include "serve/calculation_table.hpp"

#include <algorithm>

namespace goodside::serve {
namespace {

using enum GivenAs;
using Options = std::vector<CalculationOption>;

constexpr std::string_view drawn{"picture"};

Options joined(Options first, const Options& more) {
  first.insert(first.end(), more.begin(), more.end());
  return first;
}

Calculation plate() {
  return {.name = "plate",
          .command = {"plate"},
          .options = {{"metal"},
                      {"diameter"},
                      {"area"},
                      {"current"},
                      {"current-density"},
                      {"start"},
                      {"ramp"},
                      {"time"},
                      {"target"},
                      {"efficiency"},
                      {"spread", yes},
                      {"cell"},
                      {"cell-radius"},
                      {"level"},
                      {"anode-distance"},
                      {"anode-radius"},
                      {"anode-hole"},
                      {"holder-radius"},
                      {"rim"},
                      {"conductivity"},
                      {"shield"},
                      {"shield-thickness"},
                      {"shield-radius"},
                      {"within"},
                      {"kinetics"},
                      {"tafel-slope"},
                      {"exchange-current"},
                      {"surface-resistance"},
                      {"cathodic-coefficient"},
                      {"anodic-coefficient"},
                      {"temperature"},
                      {"format"},
                      {"inner-radius"},
                      {"outer-radius"},
                      {"stress"},
                      {"strip"},
                      {"spiral"},
                      {"base-thickness"},
                      {"part"}},
          .pictures = {{drawn, "Thickness along the radius", {"spread", "cell", "shield"}},
                       {"cell-picture", "The cell", {"spread", "cell", "shield"}},
                       {"ramp-picture", "Current and thickness over time"}},
          .log = {.to = "part"}};
}

Calculation back() {
  return {
      .name = "back",
      .command = {"back"},
      .options = {{"plate"},     {"metal"},  {"nickel"},    {"copper"},      {"solder"},
                  {"alloy"},     {"press"},  {"room"},      {"diameter"},    {"flat"},
                  {"map", file}, {"range"},  {"roughness"}, {"spacing"},     {"roughness-limit"},
                  {"pressure"},  {"format"}, {"form-edge"}, {"form-centre"}, {"part"}},
      .pictures = {{drawn, "The back"}},
      .log = {.to = "part"}};
}

Calculation centre() {
  return {.name = "centre",
          .command = {"centre"},
          .options = {{"readings", several, ""},
                      {"readings-file", file, "--readings"},
                      {"inwards", yes},
                      {"x-at"},
                      {"angles"},
                      {"spiral"},
                      {"reading-sigma"},
                      {"groove-radius"},
                      {"photo", file},
                      {"hole-diameter"},
                      {"groove-diameter", several},
                      {"scan", yes},
                      {"format"},
                      {"limit"},
                      {"part"}},
          .pictures = {{drawn, "Hole against groove"}},
          .log = {.to = "part"}};
}

Calculation mix() {
  return {.name = "mix",
          .command = {"mix"},
          .options = {{"recipe", file, ""},
                      {"mass"},
                      {"total"},
                      {"weighed", file},
                      {"said", several},
                      {"aim"},
                      {"cheapest", yes},
                      {"for"},
                      {"stock", several},
                      {"price", several},
                      {"regrind"},
                      {"purge"},
                      {"scale"},
                      {"bowl"},
                      {"fill"},
                      {"power"},
                      {"start"},
                      {"dump"},
                      {"batch"}},
          .pictures = {{drawn, "Weigh-up"}},
          .log = {.to = "batch", .must = false}};
}

Calculation biscuit() {
  return {.name = "biscuit",
          .command = {"biscuit"},
          .options = {{"density"},
                      {"recipe", file},
                      {"diameter"},
                      {"thickness"},
                      {"hole"},
                      {"label-diameter"},
                      {"label-thickness"},
                      {"rim-width"},
                      {"rim-thickness"},
                      {"profile", file},
                      {"groove-width"},
                      {"pitch"},
                      {"outer-radius"},
                      {"inner-radius"},
                      {"of-mould", yes},
                      {"shrinkage"},
                      {"flash"},
                      {"least-flash"},
                      {"most-flash"},
                      {"scrap"},
                      {"sheet"},
                      {"sheet-sigma"},
                      {"sheet-width"},
                      {"knives"},
                      {"knives-sigma"},
                      {"puck"},
                      {"sigma"},
                      {"weighed", file},
                      {"short"},
                      {"thick"},
                      {"scale"}},
          .pictures = {{drawn, "Masses between the limits", {"sigma", "weighed", "sheet-sigma"}}},
          .log = {.to = "batch"}};
}

Calculation cycle() {
  return {.name = "cycle",
          .command = {"cycle"},
          .options = {{"compound"},
                      {"press", file},
                      {"set", several},
                      {"best", yes},
                      {"no-reserve", yes},
                      {"window"},
                      {"points"},
                      {"monte-carlo"},
                      {"seed"},
                      {"fit", file},
                      {"ladder", file}},
          .pictures = {{drawn, "Temperatures over the cycle"},
                       {"window-picture", "Where the cycle works", {"window"}}},
          .log = {.to = "recipe", .flag = "", .is_code = false}};
}

Options risks() {
  return {{"good"}, {"producer-risk"}, {"bad"}, {"consumer-risk"}};
}

Options lot_risks() {
  return joined({{"lot"}}, risks());
}

Options lives() {
  return {{"life-scale"}, {"life-shape"}, {"pull-at"}, {"lives", file}};
}

std::vector<Calculation> sampling() {
  return {
      {.name = "sampling-runs",
       .command = {"accept", "runs"},
       .options = joined({{"run", text, ""}}, risks()),
       .pictures = {}},
      {.name = "sampling-lots",
       .command = {"accept", "lots"},
       .options = {{"file", file, ""},
                   {"aql"},
                   {"level"},
                   {"double", yes},
                   {"edition-1999", yes},
                   {"steady", yes}},
       .pictures = {},
       .in_works = false},
      {.name = "sampling-table",
       .command = {"accept", "table"},
       .options =
           {{"lot"}, {"aql"}, {"level"}, {"double", yes}, {"edition-1999", yes}, {"inspection"}},
       .pictures = {{drawn, "What the plan does"}},
       .in_works = false},
      {.name = "sampling-design",
       .command = {"accept", "design"},
       .options = lot_risks(),
       .pictures = {{drawn, "What the plans do"}},
       .in_works = false},
      {.name = "sampling-next",
       .command = {"accept", "next"},
       .options = joined(lot_risks(), {{"heard"}, {"flawed"}}),
       .pictures = {{drawn, "Heard so far, between ship and hold"}},
       .in_works = false},
      {.name = "sampling-places",
       .command = {"accept", "places"},
       .options = joined(lives(),
                         {{"impressions"},
                          {"side-time"},
                          {"sides"},
                          {"cycle"},
                          {"wait"},
                          {"listeners"},
                          {"age-a"},
                          {"age-b"},
                          {"most-flawed"},
                          {"disc-cost"},
                          {"minute-cost"}}),
       .pictures = {{drawn, "Where to pull samples"}}}};
}

Calculation chart() {
  return {.name = "chart",
          .command = {"chart"},
          .options = {{"file", file, ""}, {"value", several}, {"group"},     {"label"},
                      {"count"},          {"size"},           {"of"},        {"run"},
                      {"side"},           {"kind"},           {"unit"},      {"first"},
                      {"mean"},           {"sigma"},          {"rules"},     {"allowance"},
                      {"decision"},       {"weight"},         {"width"},     {"false-every"},
                      {"spec-low"},       {"spec-high"},      {"confidence"}},
          .pictures = {{drawn, "The chart"}}};
}

std::vector<Calculation> planning() {
  const Options shop{{"shop", file},
                     {"rounds"},
                     {"for"},
                     {"seed"},
                     {"more", several},
                     {"due", several},
                     {"hours", several}};
  return {{.name = "need",
           .command = {"plan", "need"},
           .options = joined(lives(),
                             {{"order", text, ""},
                              {"discs"},
                              {"orders", file},
                              {"chance"},
                              {"scrap"},
                              {"stamper-cost"},
                              {"shortage-cost"}}),
           .pictures = {{drawn, "Stampers against risk"}}},
          {.name = "schedule",
           .command = {"plan", "schedule"},
           .options = shop,
           .pictures = {{drawn, "The plan"}},
           .in_works_unless = "shop"},
          {.name = "promise",
           .command = {"plan", "promise"},
           .options = joined(shop, {{"replays"}}),
           .pictures = {{drawn, "When each order is done"}},
           .in_works_unless = "shop"}};
}

std::vector<Calculation> all() {
  std::vector<Calculation> every{plate(), back(), centre(), mix(), biscuit(), cycle(), chart()};
  for (const auto& family : {sampling(), planning()})
    every.insert(every.end(), family.begin(), family.end());
  return every;
}

}  // namespace

std::span<const Calculation> calculations() {
  static const std::vector<Calculation> every = all();
  return every;
}

const Calculation* find_calculation(std::string_view name) {
  const auto every = calculations();
  const auto found = std::ranges::find(every, name, &Calculation::name);
  return found == every.end() ? nullptr : &*found;
}

}  // namespace goodside::serve
