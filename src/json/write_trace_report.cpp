#include <nlohmann/json.hpp>

#include "json/figures.hpp"
#include "json/layout.hpp"
#include "json/spread_fields.hpp"
#include "json/trace_report.hpp"
#include "json/trace_words.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

constexpr double time_steps = 1e6, share_steps = 1e4, hundredths = 1e2, tenths = 1e1,
                 radius_steps = 1e5;

Json text_or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

Json range(const works::Impressions& both) {
  return Json::array({both.first, both.last});
}

Json credible(const works::CredibleImpressions& one) {
  return {{"low", one.low}, {"high", one.high}, {"best", one.best}};
}

Json cause(const works::Cause& one) {
  Json json;
  json["level"] = word(one.level, cause_levels);
  json["id"] = text_or_null(one.id);
  json["posterior"] = figure(one.posterior, share_steps);
  json["onset"] = one.onset ? credible(*one.onset) : Json(nullptr);
  json["onset_grown"] = one.onset_grown ? credible(*one.onset_grown) : Json(nullptr);
  json["since_birth"] = figure(one.since_birth, share_steps);
  json["end"] = nullptr;
  if (one.end) {
    json["end"] = credible(one.end->first_without);
    json["end"]["probability"] = figure(one.end->probability, share_steps);
  }
  json["same_discs"] = one.same_discs;
  json["posterior_with_same"] = figure(one.posterior_with_same, share_steps);
  return json;
}

Json act(const works::NextAct& one) {
  return {{"act", word(one.act, act_kinds)},
          {"disc", text_or_null(one.disc)},
          {"part", text_or_null(one.part)},
          {"carton", text_or_null(one.carton)},
          {"spindle", text_or_null(one.spindle)},
          {"impression", one.impression ? range(*one.impression) : Json(nullptr)},
          {"where", one.where},
          {"minutes", figure(one.minutes, hundredths)},
          {"gain_bits", figure(one.gain_bits, share_steps)},
          {"about", one.about},
          {"caution", text_or_null(one.caution)}};
}

Json acts(const std::vector<works::NextAct>& all) {
  Json json = Json::array();
  for (const auto& one : all) json.push_back(act(one));
  return json;
}

Json action(const works::Action& one) {
  Json json{{"text", one.text}, {"cost", figure(one.cost, hundredths)}};
  json["remedies"] = Json::array();
  for (const auto& option : one.remedies)
    json["remedies"].push_back(
        {{"remedy", word(option.remedy, remedies)}, {"cost", figure(option.cost, hundredths)}});
  json["stock"] = Json::array();
  for (const auto& option : one.stock)
    json["stock"].push_back({{"remedy", word(option.remedy, stock_remedies)},
                             {"cost", figure(option.cost, hundredths)}});
  json["caution"] = text_or_null(one.caution);
  return json;
}

Json suspect(const works::SuspectStock& stock) {
  Json json;
  json["impressions"] = Json::array();
  for (const auto& both : stock.impressions) json["impressions"].push_back(range(both));
  json["discs"] = stock.discs;
  json["flawed"] = figure(stock.flawed, tenths);
  json["cartons"] = stock.cartons;
  json["spindles"] = stock.spindles;
  return json;
}

Json recurring(const works::RecurringFault& fault) {
  Json json;
  json["id"] = fault.id;
  json["side"] = word(fault.side, disc_sides);
  json["programme_s"] = figure(fault.programme_s, time_steps);
  json["programme_sigma_s"] = figure(fault.programme_sigma_s, 1e7);
  json["kind"] = word(fault.kind, fault_kinds);
  json["pattern"] = fault.pattern ? Json(word(*fault.pattern, pattern_kinds)) : Json(nullptr);
  json["places"] = fault.places;
  json["revolution"] = fault.revolution ? Json(*fault.revolution) : Json(nullptr);
  json["angle_deg"] = figure(fault.angle_deg, tenths);
  json["radius_m"] = figure(fault.radius_m, radius_steps);
  json["audibility"] = word(fault.audibility, audibilities);
  json["on"] = fault.on;
  json["heard"] = fault.heard;
  if (!fault.not_heard.empty()) json["not_heard"] = fault.not_heard;
  json["detection"] = figure(fault.detection, share_steps);
  json["chance"] = figure(fault.chance, 1e9);
  json["open"] = fault.open;
  json["cause"] = cause(fault.cause);
  json["alternatives"] = Json::array();
  for (const auto& one : fault.alternatives) json["alternatives"].push_back(cause(one));
  json["suspect"] = suspect(fault.suspect);
  json["next"] = acts(fault.next);
  json["hearings_needed"] = figure(fault.hearings_needed, tenths);
  json["action"] = action(fault.action);
  return json;
}

}  // namespace

std::string write(const works::TraceReport& report) {
  Json json;
  json["schema"] = "goodside.trace/1";
  json["works_side"] = text_or_null(report.works_side);
  json["discs_heard"] = report.discs_heard;
  json["reports"] = report.reports;
  json["faults"] = report.faults;
  json["false_discovery_rate"] = figure(report.false_discovery_rate, 1e9);
  json["recurring"] = Json::array();
  for (const auto& fault : report.recurring) json["recurring"].push_back(recurring(fault));
  json["next"] = acts(report.next);
  add_spread(report, json);
  json["refused"] = Json::array();
  for (const auto& one : report.refused)
    json["refused"].push_back({{"what", one.what}, {"why", one.why}});
  json["remarks"] = report.remarks;
  return lay_out(json);
}

}  // namespace goodside::json
