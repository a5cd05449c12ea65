#include <limits>
#include <set>
#include <string>

#include "json/cursor.hpp"
#include "json/spread_fields.hpp"
#include "json/trace_report.hpp"
#include "json/trace_words.hpp"

namespace goodside::json {
namespace {

constexpr std::size_t largest_trace_bytes = std::size_t{256} << 20;
constexpr std::int64_t largest = std::numeric_limits<std::int64_t>::max();
constexpr std::int64_t most = std::numeric_limits<int>::max();

int count(const Cursor& json) {
  return static_cast<int>(json.whole_number(0, most));
}

double probability(const Cursor& json) {
  const double value = json.number();
  if (!(value >= 0.0 && value <= 1.0)) json.refuse("a probability from 0 to 1 should stand here");
  return value;
}

template <class Read>
auto list_of(const Cursor& json, const Read& read) {
  std::vector<decltype(read(json))> all;
  for (std::size_t i = 0; i < json.list().size(); ++i) all.push_back(read(json.at(i)));
  return all;
}

std::vector<std::string> texts(const Cursor& json) {
  return list_of(json, [](const Cursor& one) { return one.text(); });
}

works::Impressions range(const Cursor& json) {
  if (json.list().size() != 2) json.refuse("two impressions should stand here, [first, last]");
  return {json.at(0).whole_number(0, largest), json.at(1).whole_number(0, largest)};
}

works::CredibleImpressions credible(const Cursor& json) {
  return {json["low"].whole_number(0, largest),
          json["high"].whole_number(0, largest),
          json["best"].whole_number(0, largest)};
}

works::Cause cause(const Cursor& json) {
  works::Cause one;
  one.level = json["level"].word(cause_levels);
  one.id = json["id"].text_or_nothing();
  one.posterior = probability(json["posterior"]);
  if (const auto onset = json["onset"]; !onset.is_null()) one.onset = credible(onset);
  if (const auto grown = json["onset_grown"]; !grown.is_null()) one.onset_grown = credible(grown);
  one.since_birth = probability(json["since_birth"]);
  if (const auto end = json["end"]; !end.is_null())
    one.end = works::CauseEnd{probability(end["probability"]), credible(end)};
  one.same_discs = texts(json["same_discs"]);
  one.posterior_with_same = probability(json["posterior_with_same"]);
  return one;
}

works::NextAct act(const Cursor& json) {
  works::NextAct one;
  one.act = json["act"].word(act_kinds);
  one.disc = json["disc"].text_or_nothing();
  one.part = json["part"].text_or_nothing();
  one.carton = json["carton"].text_or_nothing();
  one.spindle = json["spindle"].text_or_nothing();
  if (const auto impression = json["impression"]; !impression.is_null())
    one.impression = range(impression);
  one.where = json["where"].text();
  one.minutes = json["minutes"].number();
  one.gain_bits = json["gain_bits"].number();
  one.about = list_of(json["about"], count);
  one.caution = json["caution"].text_or_nothing();
  return one;
}

works::Action action(const Cursor& json) {
  works::Action one;
  one.text = json["text"].text();
  one.cost = json["cost"].number();
  one.remedies = list_of(json["remedies"], [](const Cursor& option) {
    return works::RemedyCost{option["remedy"].word(remedies), option["cost"].number()};
  });
  one.stock = list_of(json["stock"], [](const Cursor& option) {
    return works::StockCost{option["remedy"].word(stock_remedies), option["cost"].number()};
  });
  one.caution = json["caution"].text_or_nothing();
  return one;
}

works::RecurringFault recurring(const Cursor& json) {
  works::RecurringFault fault;
  fault.id = count(json["id"]);
  fault.side = json["side"].word(disc_sides);
  fault.programme_s = json["programme_s"].number();
  fault.programme_sigma_s = json["programme_sigma_s"].number();
  fault.kind = json["kind"].word(fault_kinds);
  if (const auto pattern = json["pattern"]; !pattern.is_null())
    fault.pattern = pattern.word(pattern_kinds);
  fault.places = count(json["places"]);
  if (const auto revolution = json["revolution"]; !revolution.is_null())
    fault.revolution = revolution.whole_number(-largest, largest);
  fault.angle_deg = json["angle_deg"].number_or_null();
  fault.radius_m = json["radius_m"].number_or_null();
  fault.audibility = json["audibility"].word(audibilities);
  fault.on = texts(json["on"]);
  fault.heard = count(json["heard"]);
  if (const auto not_heard = json["not_heard"]; !not_heard.is_null())
    fault.not_heard = texts(not_heard);
  fault.detection = probability(json["detection"]);
  fault.chance = probability(json["chance"]);
  fault.open = json["open"].truth();
  fault.cause = cause(json["cause"]);
  fault.alternatives = list_of(json["alternatives"], cause);
  const auto suspect = json["suspect"];
  fault.suspect = {.impressions = list_of(suspect["impressions"], range),
                   .discs = suspect["discs"].whole_number(0, largest),
                   .flawed = suspect["flawed"].number(),
                   .cartons = texts(suspect["cartons"]),
                   .spindles = texts(suspect["spindles"])};
  fault.next = list_of(json["next"], act);
  fault.hearings_needed = json["hearings_needed"].number();
  fault.action = action(json["action"]);
  return fault;
}

}  // namespace

Result<works::TraceReport> read_trace(std::string_view text) {
  const auto document = parse_guarded(text, largest_trace_bytes, "the trace");
  if (!document) return document.error();
  const std::set<std::string> none;
  try {
    const Cursor json{*document, "", none};
    if (json["schema"].text() != "goodside.trace/1")
      json["schema"].refuse("goodside.trace/1 is read here; give what `goodside trace` wrote");
    works::TraceReport report;
    report.discs_heard = count(json["discs_heard"]);
    report.reports = count(json["reports"]);
    report.faults = count(json["faults"]);
    report.false_discovery_rate = probability(json["false_discovery_rate"]);
    report.recurring = list_of(json["recurring"], recurring);
    report.next = list_of(json["next"], act);
    read_spread(json, *document, report);
    report.refused = list_of(json["refused"], [](const Cursor& one) {
      return works::RefusedInput{one["what"].text(), one["why"].text()};
    });
    report.remarks = texts(json["remarks"]);
    report.works_side = json["works_side"].text_or_nothing();
    return report;
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

}  // namespace goodside::json
