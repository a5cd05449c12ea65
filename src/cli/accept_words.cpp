#include <fmt/format.h>

#include <algorithm>

#include "cli/accept.hpp"
#include "cli/plan_words.hpp"
#include "units/read.hpp"

namespace goodside::cli {

std::vector<Option> risk_options() {
  return {{.name = "--good",
           .value = "SHARE",
           .help = "Flawed share of a lot that should be shipped.",
           .fallback = "1%"},
          {.name = "--producer-risk",
           .value = "SHARE",
           .help = "Chance, at most, that such a lot is held.",
           .fallback = "5%"},
          {.name = "--bad",
           .value = "SHARE",
           .help = "Flawed share of a lot that should be held.",
           .fallback = "6.5%"},
          {.name = "--consumer-risk",
           .value = "SHARE",
           .help = "Chance, at most, that such a lot is shipped.",
           .fallback = "10%"}};
}

Result<plan::Risks> given_risks(const Args& args, std::int64_t lot) {
  plan::Risks risks{.lot = lot};
  const auto take = [&args](const char* name, double& value) -> Outcome {
    const auto read = args.read(name, units::fraction);
    if (!read) return read.error();
    value = *read;
    return Done{};
  };
  for (const auto& [name, value] :
       {std::pair<const char*, double*>{"--good", &risks.producer_quality},
        {"--producer-risk", &risks.producer_risk},
        {"--bad", &risks.consumer_quality},
        {"--consumer-risk", &risks.consumer_risk}})
    if (const auto taken = take(name, *value); !taken) return taken.error();
  return risks;
}

std::vector<Option> with_answer_options(std::vector<Option> own, bool picture) {
  if (picture)
    own.push_back({.name = "--picture",
                   .value = "FILE",
                   .help = "Draw it: a name that ends in .png, .svg or .pdf."});
  own.push_back({.name = "--json",
                 .value = "FILE|-",
                 .help = "The whole answer as JSON; - is standard output."});
  return own;
}

draw::CurvePicture curves_picture(const std::vector<NamedPlan>& plans,
                                  std::int64_t lot,
                                  const std::string& title,
                                  const std::string& whose) {
  draw::CurvePicture picture{
      .title = title,
      .whose = whose,
      .x_title = "flawed share of the lot",
      .x_percent = true,
      .panels = {{.y_title = "chance to be shipped", .percent = true},
                 {.y_title = "discs heard, mean"},
                 {.y_title = "flawed share that leaves, held lots heard whole", .percent = true}}};
  double x_high = 1e-4, heard = 1.0, leaves = 1e-4;
  for (const NamedPlan& one : plans) {
    const plan::PlanCurves all = plan::curves(one.boundaries, lot);
    draw::Curve ships{.name = one.name, .ink = one.ink}, discs = ships, out = ships;
    for (const auto& point : all.points) {
      ships.points.push_back({point.share, point.ships});
      discs.points.push_back({point.share, point.heard});
      out.points.push_back({point.share, point.outgoing});
      heard = std::max(heard, point.heard);
    }
    x_high = std::max(x_high, all.points.back().share);
    leaves = std::max(leaves, all.worst.outgoing);
    picture.panels[0].curves.push_back(std::move(ships));
    picture.panels[1].curves.push_back(std::move(discs));
    picture.panels[2].curves.push_back(std::move(out));
  }
  picture.x_high = x_high;
  picture.panels[1].y_high = 1.1 * heard;
  picture.panels[2].y_high = 1.15 * leaves;
  return picture;
}

json::Node curves_node(const plan::PlanCurves& all) {
  json::Node::List points;
  const auto node = [](const plan::CurvePoint& point) {
    return json::Node::Object{{"share", point.share},
                              {"ships", point.ships},
                              {"heard", point.heard},
                              {"outgoing", point.outgoing},
                              {"inspected", point.inspected}};
  };
  for (const auto& point : all.points) points.emplace_back(node(point));
  return json::Node::Object{{"points", std::move(points)}, {"worst_outgoing", node(all.worst)}};
}

json::Node stages_node(const std::vector<plan::SamplingStage>& stages) {
  json::Node::List list;
  for (const auto& stage : stages)
    list.emplace_back(json::Node::Object{
        {"heard", stage.heard}, {"accept", stage.accept}, {"reject", stage.reject}});
  return list;
}

std::string stages_text(const std::vector<plan::SamplingStage>& stages) {
  std::string text;
  for (const auto& stage : stages)
    text += fmt::format("{}{} discs{}: ship at {} flawed{}, hold at {} or more",
                        text.empty() ? "" : "; then ",
                        stage.heard,
                        text.empty() ? "" : " in all",
                        stage.accept,
                        stage.accept > 0 ? " or fewer" : "",
                        stage.reject);
  return text;
}

}  // namespace goodside::cli
