#include "json/stamper_life.hpp"

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>
#include <set>

#include "json/cursor.hpp"
#include "json/figures.hpp"
#include "json/layout.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t largest_life_bytes = std::size_t{16} << 20;
constexpr std::int64_t most_stampers = 10'000'000;
constexpr double closing_steps = 1e1, share_steps = 1e6, likelihood_steps = 1e6, gap_steps = 1e9;
constexpr Words<works::LifeCause, works::life_causes> causes{{{works::LifeCause::wear, "wear"},
                                                              {works::LifeCause::crack, "crack"},
                                                              {works::LifeCause::damage, "damage"},
                                                              {works::LifeCause::loss, "loss"}}};

/// Six digits of a figure of any size.
Json digits(const std::optional<double>& value) {
  if (!value || *value == 0.0 || !std::isfinite(*value)) return figure(value, 1.0);
  return rounded(*value, std::pow(10.0, 5.0 - std::floor(std::log10(std::abs(*value)))));
}

Json bounded(const works::BoundedFigure& one) {
  return {{"value", digits(one.value)}, {"low", digits(one.low)}, {"high", digits(one.high)}};
}

Json cause(const works::CauseLife& one) {
  return {{"cause", one.cause ? Json(word(*one.cause, causes)) : Json(nullptr)},
          {"ends", one.ends},
          {"shape_assumed", one.shape_assumed},
          {"shape", bounded(one.shape)},
          {"scale_closings", bounded(one.scale_closings)},
          {"tenth_closings", bounded(one.tenth_closings)}};
}

Json pull(const works::PullLimit& one) {
  return {{"closings", digits(one.closings)},
          {"cost_per_disc", digits(one.cost_per_disc)},
          {"cost_per_disc_unpulled", digits(one.cost_per_disc_unpulled)},
          {"low_closings", digits(one.low_closings)},
          {"high_closings", digits(one.high_closings)}};
}

Json group(const works::LifeGroup& one) {
  Json json{{"by", one.by},
            {"value", one.value.empty() ? Json(nullptr) : Json(one.value)},
            {"stampers", one.stampers},
            {"ended", one.ended}};
  json["causes"] = Json::array();
  for (const auto& each : one.causes) json["causes"].push_back(cause(each));
  json["log_likelihood"] = figure(one.log_likelihood, likelihood_steps);
  json["curve"] = Json::array();
  for (const auto& step : one.curve)
    json["curve"].push_back({{"above_closings", figure(step.above_closings, closing_steps)},
                             {"to_closings", figure(step.to_closings, closing_steps)},
                             {"share", figure(step.share, share_steps)}});
  json["law"] = Json::array();
  for (const auto& point : one.law)
    json["law"].push_back(
        {{"share", figure(point.share, share_steps)}, {"closings", bounded(point.closings)}});
  json["curve_gap"] = figure(one.curve_gap, gap_steps);
  json["pull"] = one.pull ? pull(*one.pull) : Json(nullptr);
  return json;
}

int count(const Cursor& json) {
  return static_cast<int>(json.whole_number(0, most_stampers));
}

works::BoundedFigure read_bounded(const Cursor& json) {
  return {.value = json["value"].number(),
          .low = json["low"].number_or_null(),
          .high = json["high"].number_or_null()};
}

works::CauseLife read_cause(const Cursor& json) {
  works::CauseLife one;
  if (const auto named = json["cause"]; !named.is_null()) one.cause = named.word(causes);
  one.ends = count(json["ends"]);
  one.shape_assumed = json["shape_assumed"].truth();
  one.shape = read_bounded(json["shape"]);
  one.scale_closings = read_bounded(json["scale_closings"]);
  one.tenth_closings = read_bounded(json["tenth_closings"]);
  return one;
}

works::PullLimit read_pull(const Cursor& json) {
  return {.closings = json["closings"].number_or_null(),
          .cost_per_disc = json["cost_per_disc"].number(),
          .cost_per_disc_unpulled = json["cost_per_disc_unpulled"].number(),
          .low_closings = json["low_closings"].number_or_null(),
          .high_closings = json["high_closings"].number_or_null()};
}

works::LifeGroup read_group(const Cursor& json) {
  works::LifeGroup one;
  one.by = json["by"].text();
  one.value = json["value"].text_or_nothing();
  one.stampers = count(json["stampers"]);
  one.ended = count(json["ended"]);
  const auto all = json["causes"], curve = json["curve"];
  for (std::size_t i = 0; i < all.list().size(); ++i) one.causes.push_back(read_cause(all.at(i)));
  one.log_likelihood = json["log_likelihood"].number_or_null();
  for (std::size_t i = 0; i < curve.list().size(); ++i)
    one.curve.push_back({.above_closings = curve.at(i)["above_closings"].number(),
                         .to_closings = curve.at(i)["to_closings"].number_or_null().value_or(
                             std::numeric_limits<double>::infinity()),
                         .share = curve.at(i)["share"].number()});
  if (const auto law = json["law"]; !law.is_null())
    for (std::size_t i = 0; i < law.list().size(); ++i)
      one.law.push_back(
          {.share = law.at(i)["share"].number(), .closings = read_bounded(law.at(i)["closings"])});
  one.curve_gap = json["curve_gap"].number();
  if (const auto held = json["pull"]; !held.is_null()) one.pull = read_pull(held);
  return one;
}

}  // namespace

std::string write(const works::LifeReport& report) {
  Json json;
  json["schema"] = "goodside.life/1";
  json["confidence"] = figure(report.confidence, share_steps);
  json["groups"] = Json::array();
  for (const auto& one : report.groups) json["groups"].push_back(group(one));
  json["tests"] = Json::array();
  for (const auto& one : report.tests)
    json["tests"].push_back({{"by", one.by}, {"chance", digits(one.chance)}});
  json["undetermined"] = Json::array();
  for (const auto& one : report.undetermined)
    json["undetermined"].push_back({{"field", one.field}, {"why", one.why}});
  json["remarks"] = report.remarks;
  return lay_out(json);
}

Result<works::LifeReport> read_life(std::string_view text) {
  const auto document = parse_guarded(text, largest_life_bytes, "the stampers' lives");
  if (!document) return document.error();
  const std::set<std::string> none;
  try {
    const Cursor json{*document, "", none};
    if (json["schema"].text() != "goodside.life/1")
      json["schema"].refuse("goodside.life/1 is read here");
    works::LifeReport report;
    report.confidence = json["confidence"].number();
    const auto groups = json["groups"], tests = json["tests"], unknown = json["undetermined"];
    for (std::size_t i = 0; i < groups.list().size(); ++i)
      report.groups.push_back(read_group(groups.at(i)));
    for (std::size_t i = 0; i < tests.list().size(); ++i)
      report.tests.push_back({tests.at(i)["by"].text(), tests.at(i)["chance"].number()});
    for (std::size_t i = 0; i < unknown.list().size(); ++i)
      report.undetermined.push_back({unknown.at(i)["field"].text(), unknown.at(i)["why"].text()});
    if (const auto remarks = json["remarks"]; !remarks.is_null())
      for (std::size_t i = 0; i < remarks.list().size(); ++i)
        report.remarks.push_back(remarks.at(i).text());
    return report;
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

}  // namespace goodside::json
