#include <fmt/format.h>

#include <charconv>
#include <limits>
#include <set>
#include <string>

#include "json/cursor.hpp"
#include "json/listening_report.hpp"
#include "json/reference_fields.hpp"
#include "json/report_words.hpp"

namespace goodside::json {
namespace {

constexpr std::int64_t last_revolution = 1'000'000'000;

void check_schema(const Cursor& schema) {
  constexpr std::string_view family = "goodside.listen/";
  const std::string given = schema.text();
  int version = 0;
  const char* end = given.data() + given.size();
  if (!given.starts_with(family))
    schema.refuse("this is no listening report; give one of goodside listen");
  const auto [rest, code] = std::from_chars(given.data() + family.size(), end, version);
  if (code != std::errc{} || rest != end || version < 1)
    schema.refuse("no version that there ever was; goodside.listen/1 is read here");
  if (version > 1)
    schema.refuse(
        fmt::format("version {} is newer than this program, which reads 1; update it", version));
}

std::vector<works::Undetermined> undetermined(const Cursor& list) {
  std::vector<works::Undetermined> all;
  if (list.is_null()) return all;
  list.list();
  for (std::size_t i = 0; i < list.size(); ++i)
    all.push_back(
        {.field = list.at(i)["field"].text(), .why = list.at(i)["why"].text_or_nothing()});
  return all;
}

std::optional<works::Reference> reference(const Cursor& json) {
  if (json.is_null()) return {};
  works::Reference reference;
  reference.file = read_audio_file(json);
  reference.kind = json["kind"].word(reference_kinds);
  read_reference_fields(json, reference);
  return reference;
}

works::SideGeometry geometry(const Cursor& json) {
  return {.format = json["format"].text(),
          .rpm = json["rpm"].number(),
          .outer_radius_m = json["outer_radius_m"].number(),
          .inner_radius_m = json["inner_radius_m"].number(),
          .pitch_m = json["pitch_m"].number()};
}

std::optional<works::Alignment> alignment(const Cursor& json) {
  if (json.is_null()) return {};
  const auto polarity = json["polarity"].whole_number(-1, 1);
  if (polarity == 0) json["polarity"].refuse("1 or -1 should stand here");
  return works::Alignment{.found = json["found"].truth(),
                          .programme_start_s = json["programme_start_s"].number(),
                          .programme_end_s = json["programme_end_s"].number(),
                          .programme_sigma_s = json["programme_sigma_s"].number(),
                          .speed_error_ppm = json["speed_error_ppm"].number(),
                          .drive_error_ppm = json["drive_error_ppm"].number_or_null(),
                          .gain_dB = json["gain_dB"].number(),
                          .polarity = static_cast<int>(polarity),
                          .channels = json["channels"].word(channel_orders),
                          .confidence = json["confidence"].number()};
}

std::vector<double> numbers(const Cursor& json) {
  std::vector<double> all;
  if (json.is_null()) return all;
  json.list();
  all.reserve(json.size());
  for (std::size_t i = 0; i < json.size(); ++i) all.push_back(json.at(i).number());
  return all;
}

works::WowCurve curve(const Cursor& json) {
  if (json.is_null()) return {};
  works::WowCurve curve{.time_s = numbers(json["time_s"]), .deviation = numbers(json["deviation"])};
  if (curve.time_s.size() != curve.deviation.size())
    json.refuse(fmt::format("{} times and {} deviations; as many of each should stand here",
                            curve.time_s.size(),
                            curve.deviation.size()));
  return curve;
}

works::Wow wow(const Cursor& json) {
  std::optional<works::OncePerRevPeak> peak;
  if (const auto given = json["once_per_rev_peak"]; !given.is_null())
    peak = {.outer = given["outer"].number(), .inner = given["inner"].number()};
  const auto corrected = json["arm_corrected"];
  return {.eccentricity_m = json["eccentricity_m"].number_or_null(),
          .eccentricity_sigma_m = json["eccentricity_sigma_m"].number_or_null(),
          .eccentricity_direction_deg = json["eccentricity_direction_deg"].number_or_null(),
          .arm_corrected = !corrected.is_null() && corrected.truth(),
          .once_per_rev_peak = peak,
          .out_of_round_m = json["out_of_round_m"].number_or_null(),
          .out_of_round_sigma_m = json["out_of_round_sigma_m"].number_or_null(),
          .weighted_2sigma = json["weighted_2sigma"].number_or_null(),
          .curve = curve(json["curve"]),
          .weighted_peak = json["weighted_peak"].number_or_null()};
}

works::Levels levels(const Cursor& json) {
  works::Levels levels;
  const auto bands = json["third_octave"];
  for (std::size_t i = 0; i < (bands.is_null() ? 0 : bands.list().size()); ++i)
    levels.third_octave.push_back({.centre_Hz = bands.at(i)["centre_Hz"].number(),
                                   .left_dB = bands.at(i)["left_dB"].number(),
                                   .right_dB = bands.at(i)["right_dB"].number(),
                                   .sigma_dB = bands.at(i)["sigma_dB"].number_or_null()});
  levels.balance_dB = json["balance_dB"].number_or_null();
  levels.separation_dB = json["separation_dB"].number_or_null();
  levels.high_loss_dB_per_m = json["high_loss_dB_per_m"].number_or_null();
  levels.balance_sigma_dB = json["balance_sigma_dB"].number_or_null();
  levels.separation_sigma_dB = json["separation_sigma_dB"].number_or_null();
  levels.high_loss_sigma_dB_per_m = json["high_loss_sigma_dB_per_m"].number_or_null();
  return levels;
}

/// Reports from before the field was written have none.
template <class Told>
void nature(const Cursor& json, Told& told) {
  if (const auto named = json["nature"]; !named.is_null()) told.nature = named.word(natures);
  told.nature_probability = json["nature_probability"].number_or_null();
}

works::FaultEvent fault(const Cursor& json) {
  works::FaultEvent event;
  event.id = json["id"].whole_number();
  event.kind = json["kind"].word(fault_kinds);
  event.capture_s = json["capture_s"].number();
  event.programme_s = json["programme_s"].number_or_null();
  if (const auto revolution = json["revolution"]; !revolution.is_null())
    event.revolution = revolution.whole_number(-last_revolution, last_revolution);
  event.angle_deg = json["angle_deg"].number_or_null();
  event.angle_sigma_deg = json["angle_sigma_deg"].number_or_null();
  event.radius_m = json["radius_m"].number_or_null();
  event.radius_sigma_m = json["radius_sigma_m"].number_or_null();
  event.duration_s = json["duration_s"].number();
  event.peak_dB = json["peak_dB"].number();
  event.excess_dB = json["excess_dB"].number();
  event.channel = json["channel"].word(fault_channels);
  event.plane = json["plane"].word(planes);
  event.audibility = json["audibility"].word(audibilities);
  event.margin_dB = json["margin_dB"].number_or_null();
  if (const auto pattern = json["pattern"]; !pattern.is_null())
    event.pattern = pattern.whole_number();
  event.programme_jump_s = json["programme_jump_s"].number_or_null();
  nature(json, event);
  return event;
}

std::vector<works::FaultEvent> faults(const Cursor& json) {
  std::vector<works::FaultEvent> all;
  std::set<int> ids;
  json.list();
  for (std::size_t i = 0; i < json.size(); ++i) {
    all.push_back(fault(json.at(i)));
    if (!ids.insert(all.back().id).second)
      json.at(i)["id"].refuse(fmt::format("the id {} stands twice", all.back().id));
  }
  return all;
}

works::Pattern pattern(const Cursor& json) {
  works::Pattern one;
  one.id = json["id"].whole_number();
  one.kind = json["kind"].word(pattern_kinds);
  const auto ids = json["faults"];
  ids.list();
  for (std::size_t i = 0; i < ids.size(); ++i) one.faults.push_back(ids.at(i).whole_number());
  one.first_revolution = json["first_revolution"].whole_number(-last_revolution, last_revolution);
  one.last_revolution = json["last_revolution"].whole_number(-last_revolution, last_revolution);
  one.angle_deg = json["angle_deg"].number_or_null();
  one.angle_span_deg = json["angle_span_deg"].number_or_null();
  nature(json, one);
  return one;
}

std::vector<works::Pattern> patterns(const Cursor& json) {
  std::vector<works::Pattern> all;
  if (json.is_null()) return all;
  json.list();
  for (std::size_t i = 0; i < json.size(); ++i) all.push_back(pattern(json.at(i)));
  return all;
}

Cursor row_of(const Cursor& table, std::size_t row, std::size_t columns) {
  auto line = table.at(row);
  if (line.list().size() != columns)
    line.refuse(fmt::format("{} columns should stand here", columns));
  return line;
}

std::optional<works::PolarMap> polar(const Cursor& json) {
  if (json.is_null()) return {};
  constexpr std::int64_t most = 1'000'000;
  const auto rows = static_cast<std::size_t>(json["rows"].whole_number(0, most));
  const auto columns = static_cast<std::size_t>(json["columns"].whole_number(0, most));
  works::PolarMap map;
  map.revolutions_per_row = json["revolutions_per_row"].number();
  map.rows = static_cast<int>(rows);
  map.columns = static_cast<int>(columns);
  map.reference = json["reference"].text_or_nothing();
  const auto levels = json["dB"];
  if (levels.list().size() != rows) levels.refuse(fmt::format("{} rows should stand here", rows));
  for (std::size_t row = 0; row < rows; ++row) {
    const auto line = row_of(levels, row, columns);
    for (std::size_t column = 0; column < columns; ++column)
      map.dB.push_back(line.at(column).number_or_null());
  }
  const auto coverage = json["coverage"];
  if (coverage.is_null() || coverage.list().size() == 0) return map;
  if (coverage.size() != rows) coverage.refuse(fmt::format("{} rows should stand here", rows));
  for (std::size_t row = 0; row < rows; ++row) {
    const auto line = row_of(coverage, row, columns);
    for (std::size_t column = 0; column < columns; ++column)
      map.coverage.push_back(line.at(column).number());
  }
  return map;
}

works::Noise noise(const Cursor& json) {
  works::Noise noise;
  noise.weighted_dB = json["weighted_dB"].number_or_null();
  noise.rumble_dB = json["rumble_dB"].number_or_null();
  noise.hum_dB = json["hum_dB"].number_or_null();
  noise.weighted_reference = json["weighted_reference"].text_or_nothing();
  noise.rumble_reference = json["rumble_reference"].text_or_nothing();
  noise.hum_reference = json["hum_reference"].text_or_nothing();
  noise.weighted_468_dB = json["weighted_468_dB"].number_or_null();
  noise.weighted_k_dB = json["weighted_k_dB"].number_or_null();
  noise.rumble_unweighted_dB = json["rumble_unweighted_dB"].number_or_null();
  noise.weighted_468_reference = json["weighted_468_reference"].text_or_nothing();
  noise.weighted_k_reference = json["weighted_k_reference"].text_or_nothing();
  noise.rumble_unweighted_reference = json["rumble_unweighted_reference"].text_or_nothing();
  noise.polar = polar(json["polar"]);
  if (const auto echo = json["echo"]; !echo.is_null())
    noise.echo = {.lead_dB = echo["lead_dB"].number_or_null(),
                  .lag_dB = echo["lag_dB"].number_or_null()};
  return noise;
}

// Reports that were written before there was one have neither warp, tone nor turn.
std::optional<works::HeardWarp> warp(const Cursor& json) {
  if (json.is_null()) return {};
  return works::HeardWarp{.once_per_turn_dB = json["once_per_turn_dB"].number_or_null(),
                          .harmonics_dB = json["harmonics_dB"].number_or_null(),
                          .background_dB = json["background_dB"].number(),
                          .reference = json["reference"].text_or_nothing()};
}

std::optional<works::Tone> tone(const Cursor& json) {
  if (json.is_null()) return {};
  return works::Tone{.nominal_Hz = json["nominal_Hz"].number(),
                     .measured_Hz = json["measured_Hz"].number(),
                     .from_s = json["from_s"].number(),
                     .to_s = json["to_s"].number(),
                     .speed_error_ppm = json["speed_error_ppm"].number(),
                     .speed_sigma_ppm = json["speed_sigma_ppm"].number(),
                     .drift_ppm_per_min = json["drift_ppm_per_min"].number_or_null(),
                     .weighted_2sigma = json["weighted_2sigma"].number_or_null(),
                     .weighted_peak = json["weighted_peak"].number_or_null(),
                     .unweighted_2sigma = json["unweighted_2sigma"].number_or_null(),
                     .unweighted_peak = json["unweighted_peak"].number_or_null(),
                     .noise_2sigma = json["noise_2sigma"].number_or_null()};
}

std::optional<works::Turn> turn(const Cursor& json) {
  if (json.is_null()) return {};
  works::Turn turn{.rpm = json["rpm"].number(),
                   .sigma_rpm = json["sigma_rpm"].number(),
                   .nominal_rpm = json["nominal_rpm"].number_or_null(),
                   .evidence = {},
                   .chance = json["chance"].number()};
  const auto evidence = json["evidence"];
  evidence.list();
  for (std::size_t i = 0; i < evidence.size(); ++i) turn.evidence.push_back(evidence.at(i).text());
  return turn;
}

works::Verdict verdict(const Cursor& json) {
  works::Verdict verdict;
  verdict.pass = json["pass"].truth();
  verdict.limits = json["limits"].text();
  const auto reasons = json["reasons"];
  reasons.list();
  for (std::size_t i = 0; i < reasons.size(); ++i)
    verdict.reasons.push_back({.rule = reasons.at(i)["rule"].text(),
                               .value = reasons.at(i)["value"].number(),
                               .limit = reasons.at(i)["limit"].number(),
                               .text = reasons.at(i)["text"].text_or_nothing()});
  return verdict;
}

std::vector<std::string> remarks(const Cursor& json) {
  std::vector<std::string> all;
  if (json.is_null()) return all;
  json.list();
  for (std::size_t i = 0; i < json.size(); ++i) all.push_back(json.at(i).text());
  return all;
}

works::ListeningReport whole_report(const nlohmann::json& document) {
  const std::set<std::string> none;
  works::ListeningReport report;
  const Cursor plain{document, "", none};
  check_schema(plain["schema"]);
  // Read first: it says which numbers may be null.
  report.undetermined = undetermined(plain["undetermined"]);
  std::set<std::string> named;
  for (const auto& one : report.undetermined) named.insert(one.field);

  const Cursor json{document, "", named};
  report.capture = read_audio_file(json["capture"]);
  report.reference = reference(json["reference"]);
  report.heard = read_intervals(json["heard"]);
  report.geometry = geometry(json["geometry"]);
  report.alignment = alignment(json["alignment"]);
  report.wow = wow(json["wow"]);
  report.levels = levels(json["levels"]);
  report.faults = faults(json["faults"]);
  report.patterns = patterns(json["patterns"]);
  report.noise = noise(json["noise"]);
  report.warp = warp(json["warp"]);
  report.tone = tone(json["tone"]);
  report.turn = turn(json["turn"]);
  report.verdict = verdict(json["verdict"]);
  report.masked_count =
      static_cast<int>(json["masked"]["count"].whole_number(0, std::numeric_limits<int>::max()));
  report.remarks = remarks(json["remarks"]);
  return report;
}

}  // namespace

Result<works::ListeningReport> read(std::string_view text) {
  const auto document = parse_guarded(text, largest_report_bytes, "the listening report");
  if (!document) return document.error();
  try {
    return whole_report(*document);
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

}  // namespace goodside::json
