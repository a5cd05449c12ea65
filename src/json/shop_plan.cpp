#include "json/shop_plan.hpp"

#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "json/cursor.hpp"
#include "json/figures.hpp"
#include "json/layout.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t largest_plan_bytes = std::size_t{64} << 20;
constexpr std::int64_t farthest_s = std::int64_t{1} << 50;
constexpr double second_steps = 1e3, share_steps = 1e6;

Json figures(const works::PlanFigures& one) {
  return {{"late", figure(one.late, second_steps)},
          {"change_s", one.change_s},
          {"end_s", one.end_s},
          {"late_orders", one.late_orders}};
}

Json chance(double value, double low, double high) {
  return {{"value", figure(value, share_steps)},
          {"low", figure(low, share_steps)},
          {"high", figure(high, share_steps)}};
}

Json causes(const std::vector<works::PromisedOrder::Cause>& all) {
  Json json = Json::array();
  for (const auto& one : all)
    json.push_back({{"cause", one.cause}, {"share", figure(one.share, share_steps)}});
  return json;
}

Json load(const works::StationLoad& one) {
  return {{"station", one.station},
          {"units", one.units},
          {"work_s", figure(one.work_s, 1.0)},
          {"change_s", figure(one.change_s, 1.0)},
          {"open_s", figure(one.open_s, 1.0)},
          {"waited_s", figure(one.waited_s, 1.0)},
          {"one_more", one.one_more ? figures(*one.one_more) : Json(nullptr)}};
}

Json work(const works::PlannedWork& one) {
  return {{"id", one.id},
          {"order", one.order},
          {"step", one.step},
          {"title", one.title},
          {"station", one.station},
          {"unit", one.unit.empty() ? Json(nullptr) : Json(one.unit)},
          {"helpers", one.helpers},
          {"start_s", one.start_s},
          {"end_s", one.end_s},
          {"change_s", one.change_s},
          {"fixed", one.fixed}};
}

works::PlannedWork read_work(const Cursor& json) {
  works::PlannedWork one;
  one.id = json["id"].text();
  one.order = json["order"].text_or_nothing();
  one.step = json["step"].text_or_nothing();
  one.title = json["title"].text_or_nothing();
  one.station = json["station"].text_or_nothing();
  one.unit = json["unit"].text_or_nothing();
  const auto helpers = json["helpers"];
  for (std::size_t k = 0; k < helpers.list().size(); ++k)
    one.helpers.push_back(helpers.at(k).text());
  one.start_s = json["start_s"].whole_number(-farthest_s, farthest_s);
  one.end_s = json["end_s"].whole_number(one.start_s, farthest_s);
  return one;
}

}  // namespace

std::string write(const works::ShopPlan& plan) {
  Json json;
  json["schema"] = "goodside.plan/1";
  json["name"] = plan.name;
  json["now_s"] = plan.now_s;
  json["rounds"] = plan.rounds;
  json["units"] = plan.units;
  json["plan"] = figures(plan.plan);
  json["rule"] = figures(plan.rule);
  json["bound"] = {{"late", figure(plan.least_late, second_steps)},
                   {"end_s", plan.least_end_s},
                   {"proof", plan.proof}};
  json["orders"] = Json::array();
  for (const auto& one : plan.orders)
    json["orders"].push_back({{"id", one.id},
                              {"title", one.title},
                              {"quantity", one.quantity},
                              {"weight", figure(one.weight, share_steps)},
                              {"due_s", one.due_s},
                              {"end_s", one.end_s},
                              {"late_s", one.late_s()},
                              {"earliest_s", one.earliest_s}});
  json["works"] = Json::array();
  for (const auto& one : plan.works) json["works"].push_back(work(one));
  json["loads"] = Json::array();
  for (const auto& one : plan.loads) json["loads"].push_back(load(one));
  json["moved"] = plan.moved;
  json["found"] = plan.found;
  return lay_out(json);
}

Result<works::ShopPlan> read_shop_plan(std::string_view text) {
  const auto document = parse_guarded(text, largest_plan_bytes, "the plan");
  if (!document) return document.error();
  const std::set<std::string> none;
  try {
    const Cursor json{*document, "", none};
    if (json["schema"].text() != "goodside.plan/1")
      json["schema"].refuse("goodside.plan/1 is read here");
    works::ShopPlan plan;
    plan.name = json["name"].text_or_nothing();
    plan.now_s = json["now_s"].whole_number(0, farthest_s);
    const auto works = json["works"];
    for (std::size_t k = 0; k < works.list().size(); ++k)
      plan.works.push_back(read_work(works.at(k)));
    return plan;
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

std::string write(const works::PlanPromise& promise) {
  Json json;
  json["schema"] = "goodside.promise/1";
  json["name"] = promise.name;
  json["now_s"] = promise.now_s;
  json["replays"] = promise.replays;
  json["seed"] = promise.seed;
  json["all_on_time"] =
      chance(promise.all_on_time, promise.all_on_time_low, promise.all_on_time_high);
  json["causes"] = causes(promise.causes);
  json["orders"] = Json::array();
  for (const auto& one : promise.orders) {
    Json order{{"id", one.id},
               {"title", one.title},
               {"due_s", one.due_s},
               {"planned_s", one.planned_s},
               {"half_s", one.half_s},
               {"ninety_s", one.ninety_s},
               {"ninety_five_s", one.ninety_five_s}};
    order["on_time"] = chance(one.on_time, one.on_time_low, one.on_time_high);
    order["causes"] = causes(one.causes);
    order["curve_s"] = one.curve_s;
    json["orders"].push_back(std::move(order));
  }
  json["found"] = promise.found;
  json["lives"] = promise.lives;
  return lay_out(json);
}

}  // namespace goodside::json
