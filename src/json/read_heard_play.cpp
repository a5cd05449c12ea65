#include <cmath>
#include <set>
#include <string>

#include "json/cursor.hpp"
#include "json/family.hpp"
#include "json/listening_report.hpp"
#include "json/reference_fields.hpp"
#include "json/report_words.hpp"

namespace goodside::json {
namespace {

constexpr std::int64_t most_patterns = 100'000'000;

float measure(const Cursor& json) {
  const auto value = json.number_or_null();
  return value ? static_cast<float>(*value) : std::numeric_limits<float>::quiet_NaN();
}

works::HeardFault fault(const Cursor& json) {
  works::HeardFault one;
  one.programme_s = *json["programme_s"].number_or_null();
  one.kind = json["kind"].word(fault_kinds);
  one.audibility = json["audibility"].word(audibilities);
  one.excess_dB = measure(json["excess_dB"]);
  one.angle_deg = measure(json["angle_deg"]);
  one.radius_m = measure(json["radius_m"]);
  if (const auto pattern = json["pattern"]; !pattern.is_null())
    one.pattern = static_cast<std::int32_t>(pattern.whole_number(0, most_patterns));
  return one;
}

/// What a reduced report leaves out stays unknown.
std::optional<double> told(const Cursor& json, std::string_view group, std::string_view field) {
  const auto held = json[group];
  return held.is_null() ? std::nullopt : held[field].number_or_null();
}

works::SideMeasures measures_of(const Cursor& json) {
  works::ListeningReport side;
  side.alignment.emplace().found = true;
  side.noise.weighted_dB = told(json, "noise", "weighted_dB");
  side.wow.eccentricity_m = told(json, "wow", "eccentricity_m");
  side.wow.eccentricity_direction_deg = told(json, "wow", "eccentricity_direction_deg");
  side.levels.high_loss_dB_per_m = told(json, "levels", "high_loss_dB_per_m");
  side.warp.emplace().once_per_turn_dB = told(json, "warp", "once_per_turn_dB");
  if (const auto levels = json["levels"]; !levels.is_null())
    if (const auto bands = levels["third_octave"]; !bands.is_null())
      for (std::size_t i = 0; i < bands.list().size(); ++i) {
        const auto band = bands.at(i);
        const auto centre_Hz = band["centre_Hz"].number_or_null();
        const auto left_dB = band["left_dB"].number_or_null(),
                   right_dB = band["right_dB"].number_or_null();
        if (centre_Hz && left_dB && right_dB)
          side.levels.third_octave.push_back({*centre_Hz, *left_dB, *right_dB, {}});
      }
  const auto patterns = json["patterns"];
  if (!patterns.is_null())
    for (std::size_t i = 0; i < patterns.list().size(); ++i) {
      auto& one = side.patterns.emplace_back();
      one.kind = patterns.at(i)["kind"].word(pattern_kinds);
      if (const auto nature = patterns.at(i)["nature"]; !nature.is_null())
        one.nature = nature.word(natures);
    }
  auto measures = works::side_measures(side);
  // No list of patterns is not a list without arcs.
  if (patterns.is_null())
    measures.values[static_cast<std::size_t>(works::SideMeasure::non_fill)].reset();
  return measures;
}

works::HeardPlay whole(const Cursor& json) {
  if (json["schema"].text() != "goodside.listen/1")
    json["schema"].refuse(
        "goodside.listen/1 is read here; give what `goodside listen --json` wrote");
  const auto reference = json["reference"], alignment = json["alignment"];
  if (reference.is_null() || alignment.is_null())
    json["reference"].refuse(
        "heard without its cut, so that no fault has a place in the programme; listen with "
        "--reference");
  if (!alignment["found"].truth())
    alignment["found"].refuse("the cut was not found in this capture; capture the side again");
  works::HeardPlay play;
  play.length_s = reference["duration_s"].number();
  if (!(play.length_s > 0.0))
    reference["duration_s"].refuse("a length above 0 s should stand here");
  play.rpm =
      json["geometry"].is_null() ? 0.0 : json["geometry"]["rpm"].number_or_null().value_or(0.0);
  play.sigma_s = alignment["programme_sigma_s"].number_or_null().value_or(0.0);
  if (!(play.sigma_s >= 0.0))
    alignment["programme_sigma_s"].refuse("0 s or more should stand here");
  if (const auto heard = json["heard"]; !heard.is_null()) {
    play.heard = read_intervals(heard);
    if (play.heard.empty()) heard.refuse("nothing was heard; leave the report out or listen again");
  }
  const auto faults = json["faults"];
  play.faults.reserve(faults.list().size());
  for (std::size_t i = 0; i < faults.size(); ++i) {
    const auto one = faults.at(i);
    if (one["programme_s"].is_null()) continue;
    play.faults.push_back(fault(one));
    if (play.faults.back().audibility == works::Audibility::masked) play.faults.pop_back();
  }
  if (const auto patterns = json["patterns"]; !patterns.is_null())
    for (std::size_t i = 0; i < patterns.list().size(); ++i)
      play.patterns.push_back(
          {static_cast<std::int32_t>(patterns.at(i)["id"].whole_number(0, most_patterns)),
           patterns.at(i)["kind"].word(pattern_kinds)});
  play.measures = measures_of(json);
  return play;
}

}  // namespace

Result<works::HeardPlay> read_heard_play(std::string_view text) {
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos)
    return Error{Fault::bad_input, "the report is empty; listen again, or leave it out"};
  const auto document = parse_guarded(text, largest_report_bytes, "the listening report");
  if (!document) return document.error();
  const std::set<std::string> none;
  try {
    return whole(Cursor{*document, "", none});
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

}  // namespace goodside::json
