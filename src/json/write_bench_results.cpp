#include <nlohmann/json.hpp>

#include "json/bench_results.hpp"
#include "json/figures.hpp"
#include "json/layout.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

constexpr double share_steps = 1e4;

/// Measures have many units: six digits of any.
Json six_digits(double value) {
  if (!std::isfinite(value)) return nullptr;
  if (value == 0.0) return 0.0;
  return rounded(value, std::pow(10.0, 5.0 - std::floor(std::log10(std::abs(value)))));
}

Json six_digits(const std::optional<double>& value) {
  return value ? six_digits(*value) : Json(nullptr);
}

Json measure(const works::BenchMeasure& measure) {
  return {{"field", measure.field},
          {"name", measure.name},
          {"unit", measure.unit},
          {"plays", measure.plays},
          {"centre", six_digits(measure.centre)},
          {"low", six_digits(measure.low)},
          {"high", six_digits(measure.high)},
          {"repeatability", six_digits(measure.repeatability)},
          {"repeatability_low", six_digits(measure.repeatability_low)},
          {"repeatability_high", six_digits(measure.repeatability_high)},
          {"drift_per_day", six_digits(measure.drift_per_day)},
          {"drift_low", six_digits(measure.drift_low)},
          {"drift_high", six_digits(measure.drift_high)},
          {"latest", six_digits(measure.latest)},
          {"outside", measure.outside},
          {"moved", measure.moved},
          {"how", measure.how}};
}

Json agreement(const works::Agreement& agreement) {
  if (agreement.discs() == 0) return nullptr;
  return {{"passed", agreement.passed},
          {"passed_let_through", agreement.passed_let_through},
          {"failed", agreement.failed},
          {"failed_held", agreement.failed_held},
          {"share", figure(agreement.share, share_steps)},
          {"low", figure(agreement.low, share_steps)},
          {"high", figure(agreement.high, share_steps)}};
}

}  // namespace

std::string write(const works::BenchCheck& check) {
  Json json;
  json["schema"] = "goodside.check-disc/1";
  json["moved"] = check.moved;
  json["plays"] = Json::array();
  for (std::size_t p = 0; p < check.plays.size(); ++p)
    json["plays"].push_back({{"path", check.plays[p]}, {"day", six_digits(check.day[p])}});
  json["first_plays"] = check.first_plays;
  json["measures"] = Json::array();
  for (const auto& one : check.measures) json["measures"].push_back(measure(one));
  json["look_at"] = check.look_at;
  json["remarks"] = check.remarks;
  return lay_out(json);
}

std::string write(const works::LearnedLimits& learned) {
  Json json;
  json["schema"] = "goodside.limits/1";
  json["format"] = learned.format;
  json["name"] = learned.limits.name;
  json["missed_weighs"] = six_digits(learned.missed_weighs);
  json["measures"] = Json::array();
  for (const auto& one : learned.measures)
    json["measures"].push_back({{"rule", one.rule},
                                {"built_in", six_digits(one.built_in)},
                                {"limit", six_digits(one.limit)},
                                {"discs", one.discs},
                                {"gained", one.gained},
                                {"why", one.why}});
  json["agreement"] = {{"built_in", agreement(learned.built_in)},
                       {"learned", agreement(learned.learned)},
                       {"left_out", agreement(learned.left_out)}};
  json["misses"] = Json::array();
  for (const auto& miss : learned.misses)
    json["misses"].push_back({{"path", miss.path},
                              {"listeners", miss.listeners_passed ? "passed" : "failed"},
                              {"why", miss.why}});
  json["remarks"] = learned.remarks;
  return lay_out(json);
}

}  // namespace goodside::json
