#include <fmt/format.h>

#include <ostream>

#include "cli/accept.hpp"
#include "cli/commands.hpp"
#include "cli/plan_words.hpp"
#include "cli/works_open.hpp"
#include "cli/wrap.hpp"
#include "intake/heard_lots.hpp"
#include "plan/sampling_tables.hpp"
#include "plan/switching.hpp"

namespace goodside::cli {
namespace {

constexpr std::int64_t largest_lot = 200'000;
constexpr double most_per_hundred_flawed = 10.0;  // above it the limits count faults

Result<double> quality_limit(std::string_view text) {
  if (text.ends_with('%')) text.remove_suffix(1);
  return NumberFrom{0.001, 1000.0}(text);
}

Result<plan::Inspection> inspection(std::string_view text) {
  using enum plan::Inspection;
  for (const auto one : {normal, tightened, reduced})
    if (text == word(one)) return one;
  return Error{Fault::bad_input,
               fmt::format("\"{}\" is none of normal, tightened, reduced", text.substr(0, 40))};
}

std::vector<Option> table_options() {
  return {{.name = "--aql",
           .value = "PERCENT",
           .help = "Acceptance quality limit, flawed discs a hundred: 0.65, 1.0, 1.5, 2.5 …",
           .required = true},
          {.name = "--level",
           .value = "LEVEL",
           .help = "I, II, III, or S-1 to S-4 for small samples.",
           .fallback = "II"},
          {.name = "--double", .help = "A double plan, where the tables have one (from memory)."},
          {.name = "--edition-1999",
           .help = "Reduced plans of ISO 2859-1:1999 (from memory) instead of MIL-STD-105E's."}};
}

Result<plan::TableRequest> table_request(const Args& args, std::int64_t lot) {
  plan::TableRequest request{.lot = lot};
  const auto limit = args.read("--aql", quality_limit);
  if (!limit) return limit.error();
  request.quality_limit = *limit;
  const auto level = args.read("--level", plan::read_level);
  if (!level) return level.error();
  request.level = *level;
  request.two_stages = args.given("--double");
  if (args.given("--edition-1999")) request.edition = plan::Edition::edition_1999;
  return request;
}

/// Where a plan rests on memory of the standard and not on a table that was seen.
std::string from_memory(const plan::TableRequest& request, const plan::TablePlan& plan) {
  if (plan.stages.size() > 1)
    return "The numbers of double plans are from memory of MIL-STD-105E; look them up before "
           "certifying to it.";
  if (request.inspection == plan::Inspection::reduced &&
      request.edition == plan::Edition::edition_1999)
    return "The reduced numbers of 1999 are from memory; look them up before certifying to them.";
  return "";
}

std::string table_text(const plan::TableRequest& request, const plan::TablePlan& plan) {
  std::string out;
  if (plan.whole_lot)
    out = fmt::format(
        "Hear all {} discs: ship at {} flawed or fewer\n", request.lot, plan.stages.back().accept);
  else
    put(out, stages_text(plan.stages), "Hear ", "     ");
  out += fmt::format("  lot of {}, level {}, AQL {:g}, {} inspection: code letter {}",
                     request.lot,
                     word(request.level),
                     request.quality_limit,
                     word(request.inspection),
                     plan.letter);
  out += plan.letter == plan.plan_letter
             ? "\n"
             : fmt::format(", an arrow leads to {}\n", plan.plan_letter);
  if (plan.one_stage) out += "  the tables have no double plan here; this is the single one\n";
  const auto& last = plan.stages.back();
  if (last.reject - last.accept > 1)
    put(out,
        fmt::format("between {} and {} flawed: ship, and go back to normal inspection",
                    last.accept,
                    last.reject),
        "  ",
        "  ");
  if (request.quality_limit > most_per_hundred_flawed) {
    out += "  above 10 the limit counts faults a hundred discs; no curve is drawn\n";
    return out;
  }
  const auto boundaries = plan::boundaries_of(plan.stages, true);
  const auto all = plan::curves(boundaries, request.lot);
  const auto share_at = [&](double ships) {
    double share = 0.0;
    for (const auto& point : all.points)
      if (point.ships >= ships) share = point.share;
    return share;
  };
  out += fmt::format(
      "\n  shipped 95 of 100 times   to {} flawed\n"
      "  shipped 1 of 2 times      to {}\n"
      "  shipped 1 of 10 times     to {}\n"
      "  leaves at worst           {} flawed, where held lots are heard whole\n"
      "  discs heard, at none flawed {:.1f}, at the worst {:.1f}, stopped early\n",
      percent(share_at(0.95)),
      percent(share_at(0.5)),
      percent(share_at(0.1)),
      percent(all.worst.outgoing),
      all.points.front().heard,
      all.worst.heard);
  return out;
}

int run_table(const Args& args, Console& console) {
  const auto lot = args.read("--lot", WholeFrom{2, 10'000'000});
  if (!lot) return console.refuse(lot.error());
  auto request = table_request(args, *lot);
  if (!request) return console.refuse(request.error());
  const auto read = args.read("--inspection", inspection);
  if (!read) return console.refuse(read.error());
  request->inspection = *read;
  const auto plan = plan::table_plan(*request);
  if (!plan) return console.refuse(plan.error());
  const auto boundaries = plan::boundaries_of(plan->stages, true);
  const bool curve = request->quality_limit <= most_per_hundred_flawed;
  if (args.given("--picture")) {
    if (!curve)
      return console.refuse(
          {Fault::bad_input, "--picture: above an AQL of 10 there is no curve to draw"});
    const auto saved = save_picture(
        args,
        curves_picture(
            {{stages_text(plan->stages), boundaries}},
            *lot,
            fmt::format("Sampling plan: lot of {}, AQL {:g}", *lot, request->quality_limit),
            fmt::format(
                "level {}, {} inspection", word(request->level), word(request->inspection))));
    if (!saved) return console.refuse(saved.error());
  }
  std::string text = table_text(*request, *plan);
  const std::string memory = from_memory(*request, *plan);
  if (!memory.empty()) put(text, memory, "  remark: ", "    ");
  text += '\n';
  put(text,
      "take the discs at random over the whole lot; enter each with `goodside works ticket` and "
      "`hear`.",
      "Next: ",
      "      ");
  return answer(
      args,
      console,
      text,
      json::Node::Object{
          {"schema", "goodside.sampling/1"},
          {"lot", *lot},
          {"quality_limit", request->quality_limit},
          {"level", std::string{word(request->level)}},
          {"inspection", std::string{word(request->inspection)}},
          {"letter", std::string(1, plan->letter)},
          {"plan_letter", std::string(1, plan->plan_letter)},
          {"whole_lot", plan->whole_lot},
          {"stages", stages_node(plan->stages)},
          {"from_memory", !memory.empty()},
          {"curves", curve ? curves_node(plan::curves(boundaries, *lot)) : json::Node{}}});
}

void put_row(std::string& text, const plan::JudgedLot& lot) {
  const auto& last = lot.plan.stages.back();
  text += fmt::format("  {:<20} {:<10} {:>5} {:>8}   {}\n",
                      clipped(lot.name, 20),
                      word(lot.inspection),
                      last.heard,
                      fmt::format("{}/{}", last.accept, last.reject),
                      lot.accepted ? "● ship" : "▲ hold");
  if (!lot.switches.empty()) put(text, "then " + lot.switches, "      ", "        ");
}

int run_lots(const Args& args, Console& console) {
  const auto request = table_request(args, 2);
  if (!request) return console.refuse(request.error());
  const auto read = intake::read_heard_lots(args.text("lots"));
  if (!read) return console.refuse(read.error());
  std::vector<plan::HeardLot> lots;
  for (const auto& one : *read) lots.push_back({one.name, one.discs, one.flawed, one.heard});
  const auto history = plan::judge_lots(lots,
                                        {.quality_limit = request->quality_limit,
                                         .level = request->level,
                                         .two_stages = request->two_stages,
                                         .edition = request->edition,
                                         .steady = args.given("--steady")});
  if (!history) return console.refuse(history.error());
  const auto& latest = history->lots.back();
  std::string text = history->stopped
                         ? "▲ Stop: five lots were not accepted under tightened inspection\n"
                         : fmt::format("{} the latest lot; the next is under {} inspection\n",
                                       latest.accepted ? "● Ship" : "▲ Hold",
                                       word(history->next));
  text += "\n  lot                  inspection  hear  numbers\n";
  json::Node::List list;
  for (const auto& lot : history->lots) {
    put_row(text, lot);
    list.emplace_back(json::Node::Object{{"lot", lot.name},
                                         {"inspection", std::string{word(lot.inspection)}},
                                         {"stages", stages_node(lot.plan.stages)},
                                         {"accepted", lot.accepted},
                                         {"switching_score", std::int64_t{lot.score}},
                                         {"switches", lot.switches}});
  }
  text += '\n';
  put(text,
      history->stopped  ? "find and mend the cause first; then begin again under tightened "
                          "inspection."
      : latest.accepted ? "take the next lot's samples by its plan."
                        : "keep the lot back; hear it whole, or trace what is wrong with it.",
      "Next: ",
      "      ");
  return answer(args,
                console,
                text,
                json::Node::Object{{"schema", "goodside.switching/1"},
                                   {"lots", std::move(list)},
                                   {"next_inspection", std::string{word(history->next)}},
                                   {"stopped", history->stopped}},
                history->stopped || !latest.accepted ? Exit::outside_limits : Exit::within_limits);
}

struct Designed {
  const char* name;
  Result<plan::DesignedPlan> plan;
  draw::CurveInk ink;
};

json::Node node_of(const Designed& one, std::int64_t lot) {
  if (!one.plan) return json::Node::Object{{"kind", one.name}, {"why_not", one.plan.error().text}};
  return json::Node::Object{{"kind", one.name},
                            {"stages", stages_node(one.plan->stages)},
                            {"most", one.plan->boundaries.most()},
                            {"producer_risk", one.plan->producer_risk},
                            {"consumer_risk", one.plan->consumer_risk},
                            {"heard_good", one.plan->heard_good},
                            {"heard_bad", one.plan->heard_bad},
                            {"curves", curves_node(plan::curves(one.plan->boundaries, lot))}};
}

int run_design(const Args& args, Console& console) {
  const auto lot = args.read("--lot", WholeFrom{0, largest_lot});
  if (!lot) return console.refuse(lot.error());
  const auto risks = given_risks(args, *lot);
  if (!risks) return console.refuse(risks.error());
  const auto single = plan::design_single(*risks);
  if (!single) return console.refuse(single.error());
  const std::vector<Designed> all{
      {"single", single, draw::CurveInk::ink},
      {"double", plan::design_double(*risks), draw::CurveInk::good},
      {"sequential", plan::design_sequential(*risks), draw::CurveInk::copper}};
  const std::string of_lot =
      *lot > 0 ? fmt::format("lot of {}", *lot) : std::string{"a process without end"};
  std::string text;
  put(text, stages_text(single->stages), "Single: hear ", "        ");
  put(text,
      fmt::format("{}; good at {} flawed, held at most {}; bad at {}, shipped at most {}",
                  of_lot,
                  percent(risks->producer_quality),
                  percent(risks->producer_risk),
                  percent(risks->consumer_quality),
                  percent(risks->consumer_risk)),
      "  ",
      "  ");
  text += "\n  plan        discs at most  held when good  shipped when bad  heard good  bad\n";
  std::vector<NamedPlan> named;
  json::Node::List list;
  for (const Designed& one : all) {
    list.push_back(node_of(one, *lot));
    if (!one.plan) {
      put(text, fmt::format("{}: {}", one.name, one.plan.error().text), "  ", "    ");
      continue;
    }
    text += fmt::format("  {:<11} {:>13}  {:>14}  {:>16}  {:>10.1f} {:>4.1f}\n",
                        one.name,
                        one.plan->boundaries.most(),
                        percent(one.plan->producer_risk),
                        percent(one.plan->consumer_risk),
                        one.plan->heard_good,
                        one.plan->heard_bad);
    named.push_back({one.name, one.plan->boundaries, one.ink});
  }
  if (all[1].plan) put(text, "double: " + stages_text(all[1].plan->stages), "\n  ", "    ");
  draw::CurvePicture picture =
      curves_picture(named, *lot, "Single, double and sequential plan of the same risks", of_lot);
  picture.panels.front().levels = {
      {risks->producer_quality, fmt::format("good: {}", percent(risks->producer_quality)), true},
      {risks->consumer_quality, fmt::format("bad: {}", percent(risks->consumer_quality)), true}};
  if (const auto saved = save_picture(args, picture); !saved) return console.refuse(saved.error());
  text += '\n';
  put(text,
      fmt::format(
          "hear disc by disc: `goodside accept next --lot {} --heard N --flawed N` says when "
          "it is enough.",
          *lot),
      "Next: ",
      "      ");
  return answer(args,
                console,
                text,
                json::Node::Object{
                    {"schema", "goodside.sampling/1"}, {"lot", *lot}, {"plans", std::move(list)}});
}

}  // namespace

std::vector<Command> accept_table_commands() {
  auto table = table_options();
  table.insert(table.begin(),
               {.name = "--lot", .value = "N", .help = "Discs in the lot.", .required = true});
  table.push_back({.name = "--inspection",
                   .value = "WHICH",
                   .help = "normal, tightened or reduced.",
                   .fallback = "normal"});
  auto lots = table_options();
  lots.insert(lots.begin(),
              {.name = "lots",
               .value = "FILE.csv",
               .help = "Lots in the order of production: the columns lot, discs, flawed, and heard "
                       "where it was not the plan's number.",
               .required = true});
  lots.push_back(
      {.name = "--steady", .help = "Production is steady, and reduced inspection is agreed to."});
  auto design = risk_options();
  design.insert(design.begin(),
                {.name = "--lot",
                 .value = "N",
                 .help = "Discs in the lot; 0 for a process without end.",
                 .required = true});
  return {
      {.name = "accept table",
       .help = "The sampling plan of ISO 2859-1 for a lot, and what it does.",
       .example = "goodside accept table --lot 500 --aql 1.0\n\nHear 50 discs: ship at 1 "
                  "flawed or fewer, hold at 2 or more\n  lot of 500, level II, AQL 1, normal "
                  "inspection: code letter H\n  …",
       .options = with_answer_options(std::move(table), true),
       .run = run_table},
      {.name = "accept lots",
       .help = "Lot after lot under the switching rules: ship or hold, tightened or reduced.",
       .example = "goodside accept lots demo/plan/lots.csv --aql 1.0\n\n● Ship the latest lot; the "
                  "next is "
                  "under normal inspection\n  …",
       .options = with_answer_options(std::move(lots), false),
       .run = run_lots},
      {.name = "accept design",
       .help = "Single, double and sequential plans for stated risks, exact for the lot.",
       .example = "goodside accept design --lot 500 --good 1% --bad 6.5%\n\nSingle: hear 76 discs: "
                  "ship at 2 flawed or fewer, hold at 3 or more\n  …",
       .options = with_answer_options(std::move(design), true),
       .run = run_design}};
}

}  // namespace goodside::cli
