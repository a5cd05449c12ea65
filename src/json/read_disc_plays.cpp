#include <fmt/format.h>

#include <limits>
#include <set>
#include <string>

#include "json/cursor.hpp"
#include "json/disc_plays.hpp"
#include "json/plays_words.hpp"
#include "json/reference_fields.hpp"

namespace goodside::json {
namespace {

constexpr std::size_t largest_plays_bytes = std::size_t{32} << 20;
constexpr std::int64_t last_revolution = 1'000'000'000;
constexpr int most_faults = 100'000'000;

/// What a capture could not tell is null there and NaN here.
double number_or_nan(const Cursor& json) {
  return json.number_or_null().value_or(std::numeric_limits<double>::quiet_NaN());
}

works::DiscPlay play(const Cursor& json) {
  works::DiscPlay play{
      .capture = read_audio_file(json["capture"]),
      .after = json["after"].word(afters),
      .heard = read_intervals(json["heard"]),
      .plain_faults = static_cast<int>(json["plain_faults"].whole_number(0, most_faults)),
      .slight_faults = static_cast<int>(json["slight_faults"].whole_number(0, most_faults)),
      .eccentricity_m = json["eccentricity_m"].number_or_null(),
      .eccentricity_sigma_m = json["eccentricity_sigma_m"].number_or_null(),
      .eccentricity_direction_deg = json["eccentricity_direction_deg"].number_or_null(),
      .seating = static_cast<int>(json["seating"].whole_number(1, most_faults))};
  return play;
}

works::FaultPlace place(const Cursor& json, std::size_t plays) {
  works::FaultPlace place;
  auto& fault = place.fault;
  fault.id = json["id"].whole_number();
  fault.kind = json["kind"].word(fault_kinds);
  fault.audibility = json["audibility"].word(audibilities);
  fault.programme_s = json["programme_s"].number_or_null();
  if (const auto revolution = json["revolution"]; !revolution.is_null())
    fault.revolution = revolution.whole_number(-last_revolution, last_revolution);
  fault.angle_deg = json["angle_deg"].number_or_null();
  fault.radius_m = json["radius_m"].number_or_null();
  fault.duration_s = number_or_nan(json["duration_s"]);
  fault.peak_dB = number_or_nan(json["peak_dB"]);
  fault.excess_dB = number_or_nan(json["excess_dB"]);
  fault.channel = json["channel"].word(fault_channels);
  fault.plane = json["plane"].word(planes);
  const auto showing = json["plays"];
  if (showing.list().size() != plays)
    showing.refuse(fmt::format("{} words should stand here, one a play", plays));
  for (std::size_t p = 0; p < plays; ++p) place.plays.push_back(showing.at(p).word(showings));
  place.owner = json["owner"].word(owners);
  place.disc_probability = json["disc_probability"].number();
  if (place.disc_probability < 0.0 || place.disc_probability > 1.0)
    json["disc_probability"].refuse("a probability from 0 to 1 should stand here");
  place.chance = json["chance"].number();
  return place;
}

works::Verdict verdict(const Cursor& json) {
  works::Verdict verdict{
      .pass = json["pass"].truth(), .limits = json["limits"].text(), .reasons = {}};
  const auto reasons = json["reasons"];
  reasons.list();
  for (std::size_t i = 0; i < reasons.size(); ++i)
    verdict.reasons.push_back({.rule = reasons.at(i)["rule"].text(),
                               .value = number_or_nan(reasons.at(i)["value"]),
                               .limit = number_or_nan(reasons.at(i)["limit"]),
                               .text = reasons.at(i)["text"].text_or_nothing()});
  return verdict;
}

works::DiscPlays whole(const Cursor& json) {
  if (json["schema"].text() != "goodside.plays/1")
    json["schema"].refuse(
        "goodside.plays/1 is read here; give what `goodside listen --plays` wrote");
  works::DiscPlays all;
  if (const auto reference = json["reference"]; !reference.is_null()) {
    all.reference.emplace();
    all.reference->file = read_audio_file(reference);
    all.reference->kind = reference["kind"].word(reference_kinds);
    read_reference_fields(reference, *all.reference);
  }
  const auto geometry = json["geometry"];
  all.geometry = {.format = geometry["format"].text(),
                  .rpm = geometry["rpm"].number(),
                  .outer_radius_m = geometry["outer_radius_m"].number(),
                  .inner_radius_m = geometry["inner_radius_m"].number(),
                  .pitch_m = geometry["pitch_m"].number()};
  const auto plays = json["plays"];
  for (std::size_t p = 0; p < plays.list().size(); ++p) all.plays.push_back(play(plays.at(p)));
  const auto places = json["places"];
  for (std::size_t p = 0; p < places.list().size(); ++p)
    all.places.push_back(place(places.at(p), all.plays.size()));
  all.match_window_s = json["match_window_s"].number();
  all.jitter_s = json["jitter_s"].number_or_null();
  const auto detection = json["detection"];
  all.detection = {
      .plain = detection["plain"].number(),
      .slight = detection["slight"].number(),
      .plain_trials = static_cast<int>(detection["plain_trials"].whole_number(0, most_faults)),
      .slight_trials = static_cast<int>(detection["slight_trials"].whole_number(0, most_faults))};
  const auto hole = json["hole"];
  all.hole = {.seatings = static_cast<int>(hole["seatings"].whole_number(0, most_faults)),
              .eccentricity_m = hole["eccentricity_m"].number_or_null(),
              .eccentricity_sigma_m = hole["eccentricity_sigma_m"].number_or_null(),
              .eccentricity_direction_deg = hole["eccentricity_direction_deg"].number_or_null(),
              .seating_spread_m = hole["seating_spread_m"].number_or_null(),
              .same_chance = hole["same_chance"].number_or_null()};
  all.verdict = verdict(json["verdict"]);
  const auto unknown = json["undetermined"];
  for (std::size_t i = 0; i < unknown.list().size(); ++i)
    all.undetermined.push_back(
        {.field = unknown.at(i)["field"].text(), .why = unknown.at(i)["why"].text_or_nothing()});
  const auto remarks = json["remarks"];
  for (std::size_t i = 0; i < remarks.list().size(); ++i)
    all.remarks.push_back(remarks.at(i).text());
  return all;
}

}  // namespace

Result<works::DiscPlays> read_plays(std::string_view text) {
  const auto document = parse_guarded(text, largest_plays_bytes, "the plays of a disc");
  if (!document) return document.error();
  const std::set<std::string> none;
  try {
    return whole(Cursor{*document, "", none});
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

}  // namespace goodside::json
