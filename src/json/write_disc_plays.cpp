#include <nlohmann/json.hpp>

#include "json/disc_plays.hpp"
#include "json/figures.hpp"
#include "json/layout.hpp"
#include "json/plays_words.hpp"
#include "json/reference_fields.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

/// Steps a unit: the last digit that is written.
constexpr double capture_steps = 1e7, time_steps = 1e6, metre_steps = 1e7, pitch_steps = 1e9;
constexpr double rpm_steps = 1e6, share_steps = 1e4, hundredths = 1e2;

/// Odds run over many powers of ten: three digits of any.
Json odds(double value) {
  if (value == 0.0) return 0.0;
  return rounded(value, std::pow(10.0, 2.0 - std::floor(std::log10(value))));
}

Json reference(const works::DiscPlays& plays) {
  if (!plays.reference) return nullptr;
  Json json = audio_file_fields(plays.reference->file);
  json["kind"] = word(plays.reference->kind, reference_kinds);
  add_reference_fields(*plays.reference, json);
  return json;
}

Json play(const works::DiscPlay& play) {
  Json json;
  json["capture"] = audio_file_fields(play.capture);
  json["after"] = word(play.after, afters);
  json["heard"] = interval_fields(play.heard);
  json["plain_faults"] = play.plain_faults;
  json["slight_faults"] = play.slight_faults;
  json["seating"] = play.seating;
  json["eccentricity_m"] = figure(play.eccentricity_m, metre_steps);
  json["eccentricity_sigma_m"] = figure(play.eccentricity_sigma_m, metre_steps);
  json["eccentricity_direction_deg"] = figure(play.eccentricity_direction_deg, hundredths);
  return json;
}

Json place(const works::FaultPlace& place) {
  const auto& fault = place.fault;
  Json json;
  json["id"] = fault.id;
  json["kind"] = word(fault.kind, fault_kinds);
  json["audibility"] = word(fault.audibility, audibilities);
  json["programme_s"] = figure(fault.programme_s, capture_steps);
  json["revolution"] = fault.revolution ? Json(*fault.revolution) : Json(nullptr);
  json["angle_deg"] = figure(fault.angle_deg, hundredths);
  json["radius_m"] = figure(fault.radius_m, metre_steps);
  json["duration_s"] = figure(fault.duration_s, time_steps);
  json["peak_dB"] = figure(fault.peak_dB, hundredths);
  json["excess_dB"] = figure(fault.excess_dB, hundredths);
  json["channel"] = word(fault.channel, fault_channels);
  json["plane"] = word(fault.plane, planes);
  json["plays"] = Json::array();
  for (const auto showing : place.plays) json["plays"].push_back(word(showing, showings));
  json["owner"] = word(place.owner, owners);
  json["disc_probability"] = figure(place.disc_probability, share_steps);
  json["chance"] = odds(place.chance);
  return json;
}

Json hole(const works::HoleOffset& hole) {
  return {{"seatings", hole.seatings},
          {"eccentricity_m", figure(hole.eccentricity_m, metre_steps)},
          {"eccentricity_sigma_m", figure(hole.eccentricity_sigma_m, metre_steps)},
          {"eccentricity_direction_deg", figure(hole.eccentricity_direction_deg, hundredths)},
          {"seating_spread_m", figure(hole.seating_spread_m, metre_steps)},
          {"same_chance", hole.same_chance ? odds(*hole.same_chance) : Json(nullptr)}};
}

Json verdict(const works::Verdict& verdict) {
  Json json{{"pass", verdict.pass}, {"limits", verdict.limits}};
  json["reasons"] = Json::array();
  for (const auto& reason : verdict.reasons)
    json["reasons"].push_back({{"rule", reason.rule},
                               {"value", figure(reason.value, metre_steps)},
                               {"limit", figure(reason.limit, metre_steps)},
                               {"text", reason.text}});
  return json;
}

}  // namespace

std::string write(const works::DiscPlays& plays) {
  Json json;
  json["schema"] = "goodside.plays/1";
  json["reference"] = reference(plays);
  json["geometry"] = {{"format", plays.geometry.format},
                      {"rpm", figure(plays.geometry.rpm, rpm_steps)},
                      {"outer_radius_m", figure(plays.geometry.outer_radius_m, metre_steps)},
                      {"inner_radius_m", figure(plays.geometry.inner_radius_m, metre_steps)},
                      {"pitch_m", figure(plays.geometry.pitch_m, pitch_steps)}};
  json["plays"] = Json::array();
  for (const auto& one : plays.plays) json["plays"].push_back(play(one));
  json["places"] = Json::array();
  for (const auto& one : plays.places) json["places"].push_back(place(one));
  json["match_window_s"] = figure(plays.match_window_s, capture_steps);
  json["jitter_s"] = figure(plays.jitter_s, capture_steps);
  json["detection"] = {{"plain", figure(plays.detection.plain, share_steps)},
                       {"slight", figure(plays.detection.slight, share_steps)},
                       {"plain_trials", plays.detection.plain_trials},
                       {"slight_trials", plays.detection.slight_trials}};
  json["hole"] = hole(plays.hole);
  json["verdict"] = verdict(plays.verdict);
  json["undetermined"] = Json::array();
  for (const auto& one : plays.undetermined)
    json["undetermined"].push_back({{"field", one.field}, {"why", one.why}});
  json["remarks"] = plays.remarks;
  return lay_out(json);
}

}  // namespace goodside::json
