#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/plan_words.hpp"
#include "cli/works_open.hpp"
#include "cli/wrap.hpp"
#include "intake/need_tables.hpp"
#include "intake/works_folder.hpp"
#include "line/open_orders.hpp"
#include "plan/need.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

using works::NeedOrder;

/// What the works here knows: its figures and costs, where there is a works.
struct Known {
  works::NeedFigures figures{};
  works::TraceCosts costs{};
};

Result<Known> known_here(const Args& args) {
  Known known;
  const auto folder = works_folder(args);
  if (!folder && (args.given("--in") || folder.error().fault != Fault::not_found))
    return folder.error();
  if (folder) {
    const auto costs = line::works_costs(*folder);
    if (!costs) return costs.error();
    known.costs = *costs;
  }
  if (args.given("--figures") || folder) {
    const auto figures = intake::read_need_figures(
        args.given("--figures")
            ? args.text("--figures")
            : (std::filesystem::path{*folder} / intake::works_file_name).string());
    if (!figures) return figures.error();
    known.figures = *figures;
  }
  return known;
}

Result<std::vector<NeedOrder>> orders_of(const Args& args) {
  const int ways = (args.given("--discs") ? 1 : 0) + (args.given("--orders") ? 1 : 0) +
                   (args.given("order") ? 1 : 0);
  if (ways > 1) return Error{Fault::bad_input, "give an order, --orders or --discs: one of them"};
  if (args.given("--orders")) return intake::read_need_orders(args.text("--orders"));
  if (args.given("--discs")) {
    const auto discs = args.read("--discs", WholeFrom{1, 2'000'000});
    if (!discs) return discs.error();
    return std::vector<NeedOrder>{
        NeedOrder{.order = "as given", .title = "this title", .quantity = *discs}};
  }
  std::string code;
  if (args.given("order")) {
    const auto read = args.read("order", code_text);
    if (!read) return read.error();
    code = *read;
  }
  const auto folder = works_folder(args);
  if (!folder) {
    if (folder.error().fault == Fault::not_found && !args.given("--in"))
      return Error{Fault::bad_input,
                   "no order: give --discs N, --orders FILE.csv, or a works with --in DIR"};
    return folder.error();
  }
  const auto place = line::read_works_place(*folder);
  if (!place) return place.error();
  auto record = ledger::Record::open(place->store, false);
  if (!record) return record.error();
  return line::open_orders(*record, code);
}

void put_title(std::string& out, const plan::TitleNeed& title) {
  out += fmt::format("\n  {}: {} discs\n", clipped(title.title, 50), title.quantity);
  const auto put_row = [&out](const char* name, const std::string& text) {
    put(out, text, fmt::format("    {:<11}", name), std::string(15, ' '));
  };
  put_row("discs",
          fmt::format("{} impressions: {} ordered, {} heard, {} test pressings, {} kept, the rest "
                      "scrap; and {} of warm-up over {:.1f} mountings",
                      title.impressions,
                      title.quantity,
                      title.samples,
                      title.tests,
                      title.kept,
                      title.warm_up,
                      title.mountings));
  if (title.on_way > 0)
    put_row(
        "on the way",
        fmt::format("{} pressed and not yet sorted, scrap among them, count as impressions made",
                    title.on_way));
  const auto& stampers = title.stampers;
  if (title.impressions == 0) return;
  put_row(
      "stampers",
      fmt::format("begin {} for A and {} for B{}, each on a backed blank: enough come out good "
                  "and last with {}; {:.1f} and {:.1f} are used in the mean",
                  title.a.stampers_begun,
                  title.b.stampers_begun,
                  title.a.in_hand + title.b.in_hand > 0
                      ? fmt::format(", beside {} and {} in hand", title.a.in_hand, title.b.in_hand)
                      : "",
                  percent(stampers.chosen.enough),
                  title.a.used,
                  title.b.used));
  put_row("mothers",
          fmt::format("begin {} for A and {} for B; fathers {} and {}",
                      title.a.mothers_begun,
                      title.b.mothers_begun,
                      title.a.fathers_begun,
                      title.b.fathers_begun));
  if (stampers.whole_pairs > 0)
    put_row(
        "pairs",
        fmt::format("{} good stampers last, the good one of a pair being kept; scrapped as whole "
                    "pairs it would take {}",
                    stampers.good_a + stampers.good_b,
                    2 * stampers.whole_pairs));
}

void put_stock(std::string& out, const plan::TitleNeed& need) {
  std::string compound = fmt::format("{:.1f} kg in {} mixes", need.compound_kg, need.batches);
  std::string parts;
  for (const auto& [name, kg] : need.ingredients_kg)
    parts += fmt::format("{}{} {:.2f} kg", parts.empty() ? "" : ", ", name, kg);
  if (!parts.empty()) compound += ": " + parts;
  put(out, compound, "    compound   ", "               ");
  put(out,
      fmt::format("{} biscuits, {} labels, {} sleeves, {} cartons",
                  need.biscuits,
                  need.labels,
                  need.sleeves,
                  need.cartons),
      "    stock      ",
      "               ");
  const auto& hours = need.hours;
  put(out,
      fmt::format("tank {:.1f}, facing bath {:.1f}, bench {:.1f}, mixer {:.1f}, press {:.1f}, "
                  "listening {:.1f}",
                  hours.tank,
                  hours.bath,
                  hours.bench,
                  hours.mixer,
                  hours.press,
                  hours.listening),
      "    hours      ",
      "               ");
}

/// One stamper more or fewer, about the number chosen.
void put_choice(std::string& out, const plan::TitleNeed& title) {
  const auto& chosen = title.stampers.chosen;
  const auto& cheapest = title.stampers.cheapest;
  out += "\n    stampers begun  enough   not enough  wanting, mean   cost of both\n";
  for (const auto& one : title.stampers.around) {
    const int off = one.all() - chosen.all();
    const bool least = one.all() == cheapest.all();
    if ((off < -2 || off > 2) && !least) continue;
    out += fmt::format("    {:>4} {:<8}   {:>7}   {:>10}  {:>13.2f}   {:>12.0f}{}{}\n",
                       one.all(),
                       fmt::format("({}+{})", one.a, one.b),
                       percent(one.enough),
                       percent(1.0 - one.enough),
                       one.missing,
                       one.cost,
                       off == 0 ? "  chosen" : "",
                       least ? "  cheapest" : "");
  }
}

/// The title whose stampers are told in full; none where nothing is left to press.
const plan::TitleNeed* first_to_press(const plan::Need& need) {
  for (const auto& title : need.titles)
    if (title.impressions > 0) return &title;
  return nullptr;
}

std::string remark_of(const Known& known) {
  return fmt::format(
      "{} of {} figures are the works' own; the others are common practice without a source (table "
      "[need] of goodside.toml)",
      known.figures.told,
      works::need_items.size());
}

json::Node side_node(const plan::SideMetal& side) {
  return json::Node::Object{{"in_hand", side.in_hand},
                            {"begin_stampers", side.stampers_begun},
                            {"begin_mothers", side.mothers_begun},
                            {"begin_fathers", side.fathers_begun},
                            {"used_mean", side.used}};
}

json::Node node_of(const plan::TitleNeed& need) {
  json::Node::List orders;
  for (const auto& order : need.orders) orders.emplace_back(order);
  json::Node::List around;
  for (const auto& one : need.stampers.around)
    around.emplace_back(json::Node::Object{{"a", std::int64_t{one.a}},
                                           {"b", std::int64_t{one.b}},
                                           {"enough", one.enough},
                                           {"wanting_mean", one.missing},
                                           {"cost", one.cost}});
  json::Node::Object ingredients;
  for (const auto& [name, kg] : need.ingredients_kg) ingredients.emplace_back(name, kg);
  const auto& hours = need.hours;
  return json::Node::Object{{"title", need.title},
                            {"orders", std::move(orders)},
                            {"quantity", need.quantity},
                            {"chance", need.chance},
                            {"impressions", need.impressions},
                            {"on_way", need.on_way},
                            {"samples", need.samples},
                            {"test_pressings", need.tests},
                            {"kept", need.kept},
                            {"warm_up", need.warm_up},
                            {"mountings", need.mountings},
                            {"a", side_node(need.a)},
                            {"b", side_node(need.b)},
                            {"stampers_enough", need.stampers.chosen.enough},
                            {"good_stampers_a", std::int64_t{need.stampers.good_a}},
                            {"good_stampers_b", std::int64_t{need.stampers.good_b}},
                            {"pairs_if_scrapped_whole", std::int64_t{need.stampers.whole_pairs}},
                            {"stampers_against_risk", std::move(around)},
                            {"backed_blanks", need.a.stampers_begun + need.b.stampers_begun},
                            {"compound_kg", need.compound_kg},
                            {"ingredients_kg", std::move(ingredients)},
                            {"mixes", need.batches},
                            {"biscuits", need.biscuits},
                            {"labels", need.labels},
                            {"sleeves", need.sleeves},
                            {"cartons", need.cartons},
                            {"hours",
                             json::Node::Object{{"tank", hours.tank},
                                                {"facing_bath", hours.bath},
                                                {"bench", hours.bench},
                                                {"mixer", hours.mixer},
                                                {"press", hours.press},
                                                {"listening", hours.listening}}}};
}

/// Stampers against the risk, of the first title.
draw::CurvePicture picture_of(const plan::TitleNeed& title, const std::string& life) {
  const auto& around = title.stampers.around;
  const auto& chosen = title.stampers.chosen;
  draw::CurvePicture picture{.title = fmt::format("Stampers against risk: {}", title.title),
                             .whose = fmt::format("{} discs, {} impressions · stampers' lives: {}",
                                                  title.quantity,
                                                  title.impressions,
                                                  life),
                             .x_title = "stampers begun, both sides together",
                             .x_low = around.front().all() - 0.5,
                             .x_high = around.back().all() + 0.5,
                             .panels = {{.y_title = "chance that they are enough", .percent = true},
                                        {.y_title = "cost of those begun and of those wanting"}}};
  draw::Curve lasts{
      .name = "chance that they are enough", .ink = draw::CurveInk::copper, .dots = true};
  draw::Curve cost{.name = "cost", .ink = draw::CurveInk::ink, .dots = true};
  double highest = 1.0;
  for (const auto& one : around) {
    const double x = one.all();
    lasts.points.push_back({x, one.enough});
    cost.points.push_back({x, one.cost});
    highest = std::max(highest, one.cost);
  }
  picture.panels[0].y_high = 1.05;
  picture.panels[0].curves = {std::move(lasts)};
  picture.panels[0].levels = {
      {static_cast<double>(chosen.all()), fmt::format("chosen: {}", chosen.all()), true}};
  picture.panels[1].y_high = 1.1 * highest;
  picture.panels[1].curves = {std::move(cost)};
  picture.panels[1].levels = {{static_cast<double>(title.stampers.cheapest.all()),
                               fmt::format("cheapest: {}", title.stampers.cheapest.all()),
                               true}};
  return picture;
}

Result<plan::NeedRequest> request_of(const Args& args, const Known& known, const GivenLife& life) {
  plan::NeedRequest request{.figures = known.figures, .life = life.belief};
  const auto confidence = args.read("--chance", units::fraction);
  if (!confidence) return confidence.error();
  request.confidence = *confidence;
  const auto scrap = args.maybe("--scrap", units::fraction);
  if (!scrap) return scrap.error();
  if (*scrap) {
    if (**scrap > 0.9) return Error{Fault::bad_input, "--scrap: 0 to 90 %"};
    request.figures.scrap = **scrap;
    request.figures.scrap_seen_good = request.figures.scrap_seen_bad = 0.0;
  }
  const auto stamper = args.maybe("--stamper-cost", NumberFrom{0.0, 1e9});
  if (!stamper) return stamper.error();
  const auto shortage = args.maybe("--shortage-cost", NumberFrom{0.0, 1e9});
  if (!shortage) return shortage.error();
  request.costs = {.stamper = stamper->value_or(known.costs.new_stamper),
                   .shortage = shortage->value_or(known.costs.unplanned_stop * 10.0)};
  return request;
}

int run_need(const Args& args, Console& console) {
  const auto known = known_here(args);
  if (!known) return console.refuse(known.error());
  const auto orders = orders_of(args);
  if (!orders) return console.refuse(orders.error());
  const auto life = given_life(args);
  if (!life) return console.refuse(life.error());
  const auto request = request_of(args, *known, *life);
  if (!request) return console.refuse(request.error());
  const auto need = plan::need(*orders, *request);
  if (!need) return console.refuse(need.error());
  const auto& all = need->all;
  std::string text = fmt::format("{} stampers to begin for {} discs\n",
                                 all.a.stampers_begun + all.b.stampers_begun,
                                 all.quantity);
  text += fmt::format(
      "  {}, each met with {}; together {}\n",
      need->titles.size() == 1 ? "one title" : fmt::format("{} titles", need->titles.size()),
      percent(need->confidence),
      percent(all.chance));
  put(text, "stampers' lives: " + life->whose, "  ", "    ");
  constexpr std::size_t most_titles = 5;
  for (std::size_t i = 0; i < std::min(most_titles, need->titles.size()); ++i)
    put_title(text, need->titles[i]);
  if (need->titles.size() > most_titles)
    text += fmt::format("\n  and {} more titles; --json has them all\n",
                        need->titles.size() - most_titles);
  if (need->titles.size() > 1) text += "\n  all together\n";
  put_stock(text, all);
  if (const auto* pressed = first_to_press(*need)) put_choice(text, *pressed);
  put(text, remark_of(*known), "  remark: ", "    ");
  if (const auto invented = works::invented_costs(known->costs); !invented.empty())
    put(text, invented, "  remark: ", "    ");
  text += '\n';
  put(text,
      "Metal is grown in baths that burn and poison, and pressed under steam: the works' own rules "
      "and "
      "local codes come first.",
      "Caution: ",
      "         ");
  put(text, "begin the metal; order compound, labels and sleeves.", "Next: ", "      ");
  const auto* const drawn = first_to_press(*need);
  if (args.given("--picture") && drawn == nullptr)
    return console.refuse(
        {Fault::bad_input,
         "--picture: nothing is left to press, so there are no stampers to draw"});
  if (const auto saved =
          drawn != nullptr ? save_picture(args, picture_of(*drawn, life->whose)) : Outcome{Done{}};
      !saved)
    return console.refuse(saved.error());
  json::Node::List titles;
  for (const auto& title : need->titles) titles.push_back(node_of(title));
  return answer(args,
                console,
                text,
                json::Node::Object{{"schema", "goodside.need/1"},
                                   {"chance_asked", need->confidence},
                                   {"life", life->whose},
                                   {"titles", std::move(titles)},
                                   {"all", node_of(all)}});
}

}  // namespace

Command plan_need_command() {
  std::vector<Option> options{
      {.name = "order",
       .value = "ORDER",
       .help = "An order of the record; without it all open ones."},
      {.name = "--discs", .value = "N", .help = "Discs of one title, without a record."},
      {.name = "--orders",
       .value = "FILE.csv",
       .help = "Orders of a table: order, title, quantity; material, stampers_a, stampers_b, "
               "mothers_a, "
               "…, age_a, age_b of what is in hand."},
      {.name = "--chance",
       .value = "SHARE",
       .help = "With which each title's order is to be met.",
       .fallback = "95%"},
      {.name = "--scrap",
       .value = "SHARE",
       .help = "Share scrapped; without it the works' figure."},
      {.name = "--figures",
       .value = "FILE.toml",
       .help = "The works' figures, table [need]; without it goodside.toml's."},
      {.name = "--stamper-cost",
       .value = "MONEY",
       .help = "Of one stamper begun; without it the works' costs."},
      {.name = "--shortage-cost",
       .value = "MONEY",
       .help = "Of standing for one that is wanting; without it ten unplanned stops."}};
  for (auto& option : life_options()) options.push_back(std::move(option));
  options.push_back(
      {.name = "--picture", .value = "FILE", .help = "Stampers against risk: .png, .svg, .pdf."});
  options.push_back(
      {.name = "--in", .value = "DIR", .help = "The works folder; without it the nearest above."});
  options.push_back({.name = "--json",
                     .value = "FILE|-",
                     .help = "The whole answer as JSON; - is standard output."});
  return {.name = "plan need",
          .help = "What orders take: stampers with a stated chance, metal, compound, paper, hours.",
          .example =
              "goodside plan need --discs 3000 --life-scale 1400 --life-shape 2\n\n15 "
              "stampers to begin for 3000 discs\n  one title, each met with 95 %; together "
              "95.9 %\n  …",
          .options = std::move(options),
          .run = run_need};
}

}  // namespace goodside::cli
