#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <ostream>

#include "cli/accept.hpp"
#include "cli/commands.hpp"
#include "cli/plan_words.hpp"
#include "cli/works_open.hpp"
#include "cli/wrap.hpp"
#include "line/judge_runs.hpp"
#include "plan/hearing_places.hpp"
#include "units/read.hpp"

namespace goodside::cli {
namespace {

constexpr std::int64_t largest_lot = 200'000;

std::string counted(std::int64_t n, std::string_view thing) {
  return fmt::format("{} {}{}", n, thing, n == 1 ? "" : "s");
}

std::string list_of(const std::vector<std::int64_t>& places) {
  std::string text;
  for (const std::int64_t place : places)
    text += fmt::format("{}{}", text.empty() ? "" : ", ", place);
  return text;
}

json::Node places_node(const std::vector<std::int64_t>& places) {
  json::Node::List list;
  for (const std::int64_t place : places) list.emplace_back(place);
  return list;
}

/// What the next discs would decide.
struct Standing {
  plan::RunAct act{plan::RunAct::hear_more};
  std::int64_t at_least{}, flawed_to_hold{};
  double more_if_good{}, more_if_bad{};
};

Standing standing_of(const plan::Boundaries& plan,
                     const plan::Risks& risks,
                     const plan::Heard& heard) {
  Standing now;
  if (heard.discs > 0) {
    const auto at = static_cast<std::size_t>(std::min(heard.discs, plan.most()) - 1);
    if (heard.flawed <= plan.ship_at[at]) now.act = plan::RunAct::ship;
    if (heard.flawed >= plan.hold_at[at]) now.act = plan::RunAct::hold;
  }
  if (now.act != plan::RunAct::hear_more) return now;
  for (std::int64_t m = heard.discs + 1; m <= plan.most() && now.at_least == 0; ++m)
    if (heard.flawed <= plan.ship_at[static_cast<std::size_t>(m - 1)])
      now.at_least = m - heard.discs;
  for (std::int64_t k = 1; heard.discs + k <= plan.most() && now.flawed_to_hold == 0; ++k)
    if (heard.flawed + k >= plan.hold_at[static_cast<std::size_t>(heard.discs + k - 1)])
      now.flawed_to_hold = k;
  const auto here = static_cast<double>(heard.discs);
  now.more_if_good = plan::walk(plan, risks.good(), heard).heard_mean - here;
  now.more_if_bad = plan::walk(plan, risks.bad(), heard).heard_mean - here;
  return now;
}

draw::CurvePicture lines_picture(const plan::Boundaries& plan,
                                 const plan::Heard& heard,
                                 const std::string& whose) {
  draw::CurvePicture picture{.title = "Listening disc by disc",
                             .whose = whose,
                             .x_title = "discs heard",
                             .x_high = static_cast<double>(plan.most()),
                             .panels = {{.y_title = "flawed among them", .y_low = -0.5}}};
  draw::Curve ship{.name = "ship at or under", .ink = draw::CurveInk::good, .steps = true};
  draw::Curve hold{.name = "hold at or over", .ink = draw::CurveInk::out, .steps = true};
  for (std::int64_t m = 1; m <= plan.most(); ++m) {
    const auto at = static_cast<std::size_t>(m - 1);
    const auto x = static_cast<double>(m);
    if (plan.ship_at[at] >= 0) ship.points.push_back({x, static_cast<double>(plan.ship_at[at])});
    hold.points.push_back({x, static_cast<double>(plan.hold_at[at])});
  }
  auto& panel = picture.panels[0];
  panel.y_high = static_cast<double>(std::max(plan.hold_at.back(), heard.flawed)) + 1.0;
  panel.curves = {std::move(hold), std::move(ship)};
  if (heard.discs > 0)
    panel.curves.push_back(
        {.name = "now",
         .points = {{static_cast<double>(heard.discs), static_cast<double>(heard.flawed)}},
         .ink = draw::CurveInk::ink,
         .dots = true});
  return picture;
}

int run_next(const Args& args, Console& console) {
  const auto lot = args.read("--lot", WholeFrom{0, largest_lot});
  if (!lot) return console.refuse(lot.error());
  const auto discs = args.read("--heard", WholeFrom{0, largest_lot});
  if (!discs) return console.refuse(discs.error());
  const auto flawed = args.read("--flawed", WholeFrom{0, largest_lot});
  if (!flawed) return console.refuse(flawed.error());
  if (*flawed > *discs || (*lot > 0 && *discs > *lot))
    return console.refuse({Fault::bad_input,
                           fmt::format("--flawed {} of --heard {} in a lot of {}: flawed cannot be "
                                       "more than heard, nor heard than the lot",
                                       *flawed,
                                       *discs,
                                       *lot)});
  const auto risks = given_risks(args, *lot);
  if (!risks) return console.refuse(risks.error());
  const auto plan = plan::design_sequential(*risks);
  if (!plan) return console.refuse(plan.error());
  const plan::Heard heard{*discs, *flawed};
  const Standing now = standing_of(plan->boundaries, *risks, heard);
  const std::string so_far = fmt::format("{} heard, {} flawed", *discs, *flawed);
  std::string text, act;
  switch (now.act) {
    case plan::RunAct::ship:
      text = fmt::format("● Ship: {}, that is enough\n", so_far);
      act = "release the lot; keep the tickets.";
      break;
    case plan::RunAct::hold:
      text = fmt::format("▲ Hold: {}, too many for a good lot\n", so_far);
      act = "hold the lot, and trace what the flawed discs share.";
      break;
    default:
      text = fmt::format("○ Hear {} more: {}, not enough yet\n", now.at_least, so_far);
      text += fmt::format("  {} more without a fault ship it; {} more flawed in a row hold it\n",
                          now.at_least,
                          now.flawed_to_hold);
      text += fmt::format("  in the mean {:.0f} more of a good lot, {:.0f} of a bad one\n",
                          now.more_if_good,
                          now.more_if_bad);
      act = "hear the next disc, taken at random, and ask again.";
  }
  put(text,
      fmt::format("a lot with {} flawed is held {} of the time, one with {} is shipped {}",
                  percent(risks->producer_quality),
                  percent(plan->producer_risk),
                  percent(risks->consumer_quality),
                  percent(plan->consumer_risk)),
      "  ",
      "  ");
  text += '\n';
  put(text, act, "Next: ", "      ");
  if (const auto saved =
          save_picture(args,
                       lines_picture(plan->boundaries,
                                     heard,
                                     fmt::format("lot of {}; good at {} flawed, bad at {}",
                                                 *lot,
                                                 percent(risks->producer_quality),
                                                 percent(risks->consumer_quality))));
      !saved)
    return console.refuse(saved.error());
  constexpr const char* acts[] = {"ship", "hold", "hear more"};
  json::Node::List ship_at, hold_at;
  for (const auto at : plan->boundaries.ship_at) ship_at.emplace_back(at);
  for (const auto at : plan->boundaries.hold_at) hold_at.emplace_back(at);
  return answer(args,
                console,
                text,
                json::Node::Object{{"schema", "goodside.hearing/1"},
                                   {"lot", *lot},
                                   {"heard", *discs},
                                   {"flawed", *flawed},
                                   {"act", acts[static_cast<int>(now.act)]},
                                   {"at_least", now.at_least},
                                   {"mean_if_good", now.more_if_good},
                                   {"mean_if_bad", now.more_if_bad},
                                   {"producer_risk", plan->producer_risk},
                                   {"consumer_risk", plan->consumer_risk},
                                   {"ship_at", std::move(ship_at)},
                                   {"hold_at", std::move(hold_at)}},
                now.act == plan::RunAct::ship ? Exit::within_limits : Exit::outside_limits);
}

Result<double> cost(std::string_view text) {
  return NumberFrom{0.0, 1e9}(text);
}

/// The costs of the works here, or the invented ones, with the sentence that says so.
Result<works::TraceCosts> costs_here(const Args& args) {
  const auto folder = works_folder(args);
  if (folder) return line::works_costs(*folder);
  if (args.given("--in") || folder.error().fault != Fault::not_found) return folder.error();
  return works::TraceCosts{};
}

struct PlacesRequest {
  plan::WatchedRun run{};
  double heard_min{};
  std::string life{}, remark{};
};

Result<PlacesRequest> places_request(const Args& args) {
  PlacesRequest request;
  const auto impressions = args.read("--impressions", WholeFrom{1, 200'000});
  if (!impressions) return impressions.error();
  const auto side_s = args.read("--side-time", units::duration_s);
  if (!side_s) return side_s.error();
  const auto cycle_s = args.read("--cycle", units::duration_s);
  if (!cycle_s) return cycle_s.error();
  const auto wait_s = args.read("--wait", units::duration_s);
  if (!wait_s) return wait_s.error();
  const auto sides = args.read("--sides", WholeFrom{1, 2});
  if (!sides) return sides.error();
  const auto listeners = args.read("--listeners", WholeFrom{1, 1000});
  if (!listeners) return listeners.error();
  const auto age_a = args.read("--age-a", NumberFrom{0.0, 1e9});
  if (!age_a) return age_a.error();
  const auto age_b = args.read("--age-b", NumberFrom{0.0, 1e9});
  if (!age_b) return age_b.error();
  const auto bound = args.maybe("--most-flawed", WholeFrom{1, 200'000});
  if (!bound) return bound.error();
  if (*cycle_s < 1.0)
    return Error{Fault::bad_input, "--cycle: a press makes a disc in a second or more"};
  if (*side_s <= 0.0)
    return Error{Fault::bad_input, "--side-time: give the time that a side plays"};
  const auto costs = costs_here(args);
  if (!costs) return costs.error();
  const auto disc = args.maybe("--disc-cost", cost);
  if (!disc) return disc.error();
  const auto minute = args.maybe("--minute-cost", cost);
  if (!minute) return minute.error();
  const auto life = given_life(args);
  if (!life) return life.error();
  const double hearing_s = *side_s * static_cast<double>(*sides);
  const double a_minute = minute->value_or(costs->minute);
  request.heard_min = hearing_s / 60.0;
  request.life = life->whose;
  if (!*disc || !*minute) request.remark = works::invented_costs(*costs);
  std::vector<double> ages{*age_a};
  if (*sides == 2) ages.push_back(*age_b);
  request.run = {.impressions = *impressions,
                 .still_good = plan::pair_survival(life->belief, ages),
                 .behind = static_cast<std::int64_t>(std::ceil((hearing_s + *wait_s) / *cycle_s)),
                 .least_gap = static_cast<std::int64_t>(
                     std::ceil(hearing_s / (*cycle_s * static_cast<double>(*listeners)))),
                 .most_flawed = bound->value_or(0),
                 .hearing_cost = request.heard_min * a_minute,
                 .disc_cost = disc->value_or(costs->disc),
                 .search_cost = costs->spot_hear_min * a_minute};
  return request;
}

int run_places(const Args& args, Console& console) {
  const auto request = places_request(args);
  if (!request) return console.refuse(request.error());
  const auto& run = request->run;
  const auto places = plan::hearing_places(run);
  if (!places) return console.refuse(places.error());
  const auto even = plan::even_places(run, places->at.size());
  std::string text = fmt::format("Hear {} of {} impressions\n",
                                 counted(static_cast<std::int64_t>(places->at.size()), "disc"),
                                 run.impressions);
  put(text, list_of(places->at), "  at ", "     ");
  text += fmt::format("  {} discs are pressed before a verdict; samples {} or more apart\n",
                      run.behind,
                      run.least_gap);
  put(text,
      fmt::format("stampers' lives: {}; damage in these impressions {}",
                  request->life,
                  percent(places->damage_chance)),
      "  ",
      "    ");
  text += fmt::format(
      "\n                        here   even places\n"
      "  hearing, hours      {:>6.1f}   {:>6.1f}   until damage or the end\n"
      "  flawed discs made   {:>6.1f}   {:>6.1f}   in the mean\n"
      "  and where damaged   {:>6.1f}   {:>6.1f}\n"
      "  cost                {:>6.1f}   {:>6.1f}\n",
      places->heard_mean * request->heard_min / 60.0,
      even.heard_mean * request->heard_min / 60.0,
      places->flawed_mean,
      even.flawed_mean,
      places->flawed_if_damaged,
      even.flawed_if_damaged,
      places->cost,
      even.cost);
  if (!request->remark.empty()) put(text, request->remark, "  remark: ", "    ");
  text += '\n';
  put(text,
      "pull each at its impression with `goodside works ticket`, and hear it at once: what is "
      "pressed "
      "meanwhile stays suspect.",
      "Next: ",
      "      ");
  if (args.given("--picture")) {
    draw::CurvePicture picture{
        .title =
            fmt::format("Where to hear: {} of {} impressions", places->at.size(), run.impressions),
        .whose = "stampers' lives: " + request->life,
        .x_title = "impressions",
        .x_high = static_cast<double>(run.impressions),
        .panels = {{.y_title = "chance that the pair is still good", .percent = true}}};
    draw::Curve good{.name = "pair still good", .ink = draw::CurveInk::copper};
    constexpr int points = 200;
    for (int k = 0; k <= points; ++k) {
      const double x = picture.x_high * k / points;
      good.points.push_back({x, run.still_good(x)});
    }
    draw::Curve heard{.name = "", .ink = draw::CurveInk::ink};
    picture.panels[0].curves.push_back(std::move(good));
    for (const std::int64_t at : places->at) {
      const auto x = static_cast<double>(at);
      picture.panels[0].curves.push_back({.name = "disc to hear",
                                          .points = {{x, 0.0}, {x, run.still_good(x)}},
                                          .ink = draw::CurveInk::good,
                                          .dots = true});
    }
    if (const auto saved = save_picture(args, picture); !saved)
      return console.refuse(saved.error());
  }
  return answer(args,
                console,
                text,
                json::Node::Object{{"schema", "goodside.places/1"},
                                   {"impressions", run.impressions},
                                   {"discs_behind", run.behind},
                                   {"least_gap", run.least_gap},
                                   {"at", places_node(places->at)},
                                   {"damage_chance", places->damage_chance},
                                   {"heard_mean", places->heard_mean},
                                   {"flawed_mean", places->flawed_mean},
                                   {"flawed_if_damaged", places->flawed_if_damaged},
                                   {"cost", places->cost},
                                   {"cost_even", even.cost}});
}

std::string act_text(const line::JudgedRun& run) {
  switch (run.verdict.act) {
    case plan::RunAct::ship:
      return "● ship";
    case plan::RunAct::hold:
      return "▲ hold";
    case plan::RunAct::hear_more:
      return fmt::format("○ hear {} more", run.verdict.at_least);
    case plan::RunAct::nothing:
      return "- nothing to judge";
  }
  return "";
}

void put_run(std::string& text, const line::JudgedRun& run) {
  text += fmt::format("  {}  {}  {}\n", run.run, act_text(run), clipped(run.title, 40));
  put(text, run.verdict.why, "      ", "      ");
  if (run.evidence.suspect > 0)
    text += fmt::format("      {} suspect: these stay\n", counted(run.evidence.suspect, "disc"));
  if (!run.verdict.places.empty() && run.verdict.act == plan::RunAct::hear_more)
    put(text,
        "impressions " + list_of(run.verdict.places) +
            (run.verdict.at_least > static_cast<std::int64_t>(run.verdict.places.size()) ? " …"
                                                                                         : ""),
        "      hear ",
        "           ");
}

json::Node node_of(const line::JudgedRun& run) {
  constexpr const char* acts[] = {"ship", "hold", "hear more", "nothing"};
  return json::Node::Object{{"run", run.run},
                            {"order", run.order},
                            {"title", run.title},
                            {"act", acts[static_cast<int>(run.verdict.act)]},
                            {"why", run.verdict.why},
                            {"impressions", run.made},
                            {"lot", run.verdict.lot},
                            {"shippable", run.evidence.shippable},
                            {"suspect", run.evidence.suspect},
                            {"shipped", run.evidence.shipped},
                            {"heard", run.verdict.heard},
                            {"flawed", run.verdict.flawed},
                            {"hear_at_least", run.verdict.at_least},
                            {"hear_expected", run.verdict.expected},
                            {"places", places_node(run.verdict.places)}};
}

int run_runs(const Args& args, Console& console) {
  const auto risks = given_risks(args, 0);
  if (!risks) return console.refuse(risks.error());
  std::string code;
  if (args.given("run")) {
    const auto read = args.read("run", code_text);
    if (!read) return console.refuse(read.error());
    code = *read;
  }
  return in_works(args, console, [&](OpenWorks& works) {
    const auto runs = line::judge_runs(works.desk.record, code, *risks);
    if (!runs) return console.refuse(runs.error());
    if (runs->empty())
      return console.refuse(
          {Fault::bad_input, "no run has pressed yet; enter one with `goodside works press`"});
    const auto count = [&](plan::RunAct act) {
      return std::ranges::count_if(*runs,
                                   [act](const auto& one) { return one.verdict.act == act; });
    };
    const auto hold = count(plan::RunAct::hold), more = count(plan::RunAct::hear_more);
    std::string text = fmt::format("{} {}: {} to ship, {} to hold, {} to hear more of\n\n",
                                   hold > 0   ? "▲"
                                   : more > 0 ? "○"
                                              : "●",
                                   counted(static_cast<std::int64_t>(runs->size()), "run"),
                                   count(plan::RunAct::ship),
                                   hold,
                                   more);
    json::Node::List list;
    for (const auto& run : *runs) {
      put_run(text, run);
      list.push_back(node_of(run));
    }
    put(text,
        fmt::format("good lots have {} flawed, held at most {}; bad ones {}, shipped at most {}",
                    percent(risks->producer_quality),
                    percent(risks->producer_risk),
                    percent(risks->consumer_quality),
                    percent(risks->consumer_risk)),
        "\n  ",
        "  ");
    text += '\n';
    put(text,
        hold > 0 ? "hold the runs marked ▲ with `goodside works hold`, and trace what they share."
        : more > 0
            ? "pull the impressions named with `goodside works ticket`, hear them, ask again."
            : "pack and ship.",
        "Next: ",
        "      ");
    return answer(
        args,
        console,
        text,
        json::Node::Object{{"schema", "goodside.acceptance/1"}, {"runs", std::move(list)}},
        hold > 0 || more > 0 ? Exit::outside_limits : Exit::within_limits);
  });
}

}  // namespace

std::vector<Command> accept_hearing_commands() {
  auto next = risk_options();
  next.insert(
      next.begin(),
      {{.name = "--lot",
        .value = "N",
        .help = "Discs in the lot; 0 for a process without end.",
        .required = true},
       {.name = "--heard", .value = "N", .help = "Discs heard of it so far.", .fallback = "0"},
       {.name = "--flawed", .value = "N", .help = "Flawed among them.", .fallback = "0"}});
  std::vector<Option> places{
      {.name = "--impressions", .value = "N", .help = "Of the run to come.", .required = true},
      {.name = "--side-time",
       .value = "TIME",
       .help = "How long a side plays: 22min.",
       .required = true},
      {.name = "--sides", .value = "N", .help = "Sides heard of each sample.", .fallback = "2"},
      {.name = "--cycle", .value = "TIME", .help = "The press, disc to disc.", .fallback = "30s"},
      {.name = "--wait",
       .value = "TIME",
       .help = "From the press to the needle, before hearing begins.",
       .fallback = "0min"},
      {.name = "--listeners", .value = "N", .help = "Who hear this run.", .fallback = "1"},
      {.name = "--age-a",
       .value = "N",
       .help = "Closings that stamper A has done.",
       .fallback = "0"},
      {.name = "--age-b",
       .value = "N",
       .help = "Closings that stamper B has done.",
       .fallback = "0"},
      {.name = "--most-flawed",
       .value = "N",
       .help = "Never more flawed discs than this before a verdict."},
      {.name = "--disc-cost",
       .value = "MONEY",
       .help = "Of a flawed disc; without it the works' costs."},
      {.name = "--minute-cost",
       .value = "MONEY",
       .help = "Of a listener's minute; without it the works' costs."}};
  for (auto& option : life_options()) places.push_back(std::move(option));
  places.push_back(
      {.name = "--in", .value = "DIR", .help = "The works folder; without it the nearest above."});
  std::vector<Option> runs{{.name = "run", .value = "RUN", .help = "One run; without it all."}};
  for (auto& option : risk_options()) runs.push_back(std::move(option));
  return {
      {.name = "accept next",
       .help = "Sequential listening: is it enough, or how many more discs to hear.",
       .example = "goodside accept next --lot 500 --heard 20\n\n○ Hear 18 more: 20 heard, 0 "
                  "flawed, not enough yet\n  …",
       .options = with_answer_options(std::move(next), true),
       .run = run_next},
      {.name = "accept places",
       .help = "Where in a run to pull samples, so that damage is caught at the least cost.",
       .example = "goodside accept places --impressions 1000 --side-time 22min --life-scale "
                  "1400 --life-shape 2\n\nHear 5 discs of 1000 impressions\n  at 355, 530, "
                  "674, 800, 1000\n  …",
       .options = with_answer_options(std::move(places), true),
       .run = run_places},
      {.name = "accept runs",
       .help = "Of each run in the works' record: ship, hold, or hear so many more.",
       .example = "goodside accept runs\n\n○ 1 run: 0 to ship, 0 to hold, 1 to hear more of\n\n  "
                  "R-00002-7  ○ hear 31 more  Fallen Leaves\n  …",
       .options = with_works_options(std::move(runs)),
       .run = run_runs}};
}

}  // namespace goodside::cli
