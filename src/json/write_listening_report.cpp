#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>
#include <span>
#include <string>

#include "base/expects.hpp"
#include "json/layout.hpp"
#include "json/listening_report.hpp"
#include "json/reference_fields.hpp"
#include "json/report_words.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

/// Steps a unit: the last digit of a kind of number. Powers of ten, so that value * steps counts
/// whole steps.
struct Steps {
  double a_unit;
};
constexpr Steps capture_steps{1e7};  // 0.1 us
constexpr Steps time_steps{1e6};
constexpr Steps metre_steps{1e7};
constexpr Steps pitch_steps{1e9};  // a side multiplies it by a thousand turns
constexpr Steps rpm_steps{1e6};
constexpr Steps deviation_steps{1e8};
constexpr Steps share_steps{1e4};
constexpr Steps chance_steps{1e12};
constexpr Steps hundredths{1e2};

/// Writes one report; collects the numbers that are not finite on the way.
class Writer {
 public:
  explicit Writer(const works::ListeningReport& report) : report_{report} {}

  Json whole_report() {
    Json json;
    json["schema"] = "goodside.listen/1";
    json["capture"] = file(report_.capture, "capture");
    json["reference"] = reference();
    json["heard"] = Json::array();
    for (std::size_t i = 0; i < report_.heard.size(); ++i) {
      const auto place = indexed("heard", i);
      json["heard"].push_back({number(report_.heard[i].from_s, capture_steps, place + "[0]"),
                               number(report_.heard[i].to_s, capture_steps, place + "[1]")});
    }
    json["geometry"] = geometry();
    json["alignment"] = alignment();
    json["wow"] = wow();
    json["levels"] = levels();
    json["faults"] = faults();
    json["patterns"] = patterns();
    json["noise"] = noise();
    json["warp"] = warp();
    json["tone"] = tone();
    if (report_.turn || !report_.reference) json["turn"] = turn();
    json["verdict"] = verdict();
    json["masked"] = {{"count", report_.masked_count}};
    json["undetermined"] = undetermined();
    json["remarks"] = report_.remarks;
    return json;
  }

 private:
  static std::string indexed(const std::string& list, std::size_t i) {
    return list + "[" + std::to_string(i) + "]";
  }

  /// Rounded to whole steps; the division of two exact whole numbers gives the double nearest to
  /// the decimal, which prints as that decimal.
  Json number(double value, Steps steps, const std::string& field) {
    const double scaled = value * steps.a_unit;
    if (!std::isfinite(scaled)) {
      not_finite_.push_back(field);
      return nullptr;
    }
    constexpr double largest_exact = 0x1p53;
    if (std::abs(scaled) >= largest_exact) return value;
    // "+ 0.0" turns -0 into 0: equal reports must not differ in a sign that means nothing.
    return std::nearbyint(scaled) / steps.a_unit + 0.0;
  }

  Json number(const std::optional<double>& value, Steps steps, const std::string& field) {
    return value ? number(*value, steps, field) : Json(nullptr);
  }

  template <class Whole>
  static Json whole_number(const std::optional<Whole>& value) {
    return value ? Json(*value) : Json(nullptr);
  }

  Json list(std::span<const double> values, Steps steps, const std::string& field) {
    Json json = Json::array();
    for (std::size_t i = 0; i < values.size(); ++i)
      json.push_back(number(values[i], steps, indexed(field, i)));
    return json;
  }

  template <class Enum, std::size_t n>
  static Json word(Enum value, const Words<Enum, n>& words) {
    for (const auto& [meaning, text] : words)
      if (meaning == value) return std::string{text};
    EXPECTS(false && "an enumerator without a word");
    return nullptr;
  }

  Json file(const works::AudioFile& audio, const std::string& name) {
    Json json;
    json["path"] = audio.path;
    json["sample_rate_Hz"] = number(audio.sample_rate_Hz, hundredths, name + ".sample_rate_Hz");
    json["channels"] = audio.channels;
    json["duration_s"] = number(audio.duration_s, capture_steps, name + ".duration_s");
    json["sha256"] = audio.sha256;
    return json;
  }

  Json reference() {
    if (!report_.reference) return nullptr;
    Json json = file(report_.reference->file, "reference");
    json["kind"] = word(report_.reference->kind, reference_kinds);
    if (works::was_played(report_.reference->kind)) add_reference_fields(*report_.reference, json);
    return json;
  }

  Json geometry() {
    const auto& side = report_.geometry;
    Json json;
    json["format"] = side.format;
    json["rpm"] = number(side.rpm, rpm_steps, "geometry.rpm");
    json["outer_radius_m"] = number(side.outer_radius_m, metre_steps, "geometry.outer_radius_m");
    json["inner_radius_m"] = number(side.inner_radius_m, metre_steps, "geometry.inner_radius_m");
    json["pitch_m"] = number(side.pitch_m, pitch_steps, "geometry.pitch_m");
    return json;
  }

  Json alignment() {
    if (!report_.alignment) return nullptr;
    const auto& found = *report_.alignment;
    Json json;
    json["found"] = found.found;
    json["programme_start_s"] =
        number(found.programme_start_s, capture_steps, "alignment.programme_start_s");
    json["programme_end_s"] =
        number(found.programme_end_s, capture_steps, "alignment.programme_end_s");
    json["programme_sigma_s"] =
        number(found.programme_sigma_s, capture_steps, "alignment.programme_sigma_s");
    json["speed_error_ppm"] =
        number(found.speed_error_ppm, hundredths, "alignment.speed_error_ppm");
    json["drive_error_ppm"] =
        number(found.drive_error_ppm, hundredths, "alignment.drive_error_ppm");
    json["gain_dB"] = number(found.gain_dB, hundredths, "alignment.gain_dB");
    json["polarity"] = found.polarity;
    json["channels"] = word(found.channels, channel_orders);
    json["confidence"] = number(found.confidence, share_steps, "alignment.confidence");
    return json;
  }

  Json wow() {
    const auto& w = report_.wow;
    Json json;
    json["eccentricity_m"] = number(w.eccentricity_m, metre_steps, "wow.eccentricity_m");
    json["eccentricity_sigma_m"] =
        number(w.eccentricity_sigma_m, metre_steps, "wow.eccentricity_sigma_m");
    json["eccentricity_direction_deg"] =
        number(w.eccentricity_direction_deg, hundredths, "wow.eccentricity_direction_deg");
    json["arm_corrected"] = w.arm_corrected;
    json["once_per_rev_peak"] = nullptr;
    if (w.once_per_rev_peak)
      json["once_per_rev_peak"] = {
          {"outer",
           number(w.once_per_rev_peak->outer, deviation_steps, "wow.once_per_rev_peak.outer")},
          {"inner",
           number(w.once_per_rev_peak->inner, deviation_steps, "wow.once_per_rev_peak.inner")}};
    json["out_of_round_m"] = number(w.out_of_round_m, metre_steps, "wow.out_of_round_m");
    json["out_of_round_sigma_m"] =
        number(w.out_of_round_sigma_m, metre_steps, "wow.out_of_round_sigma_m");
    json["weighted_2sigma"] = number(w.weighted_2sigma, deviation_steps, "wow.weighted_2sigma");
    json["weighted_peak"] = number(w.weighted_peak, deviation_steps, "wow.weighted_peak");
    json["curve"] = {
        {"time_s", list(w.curve.time_s, time_steps, "wow.curve.time_s")},
        {"deviation", list(w.curve.deviation, deviation_steps, "wow.curve.deviation")}};
    return json;
  }

  Json levels() {
    Json json;
    json["third_octave"] = Json::array();
    for (std::size_t i = 0; i < report_.levels.third_octave.size(); ++i) {
      const auto& band = report_.levels.third_octave[i];
      const auto place = indexed("levels.third_octave", i);
      json["third_octave"].push_back(
          {{"centre_Hz", number(band.centre_Hz, hundredths, place + ".centre_Hz")},
           {"left_dB", number(band.left_dB, hundredths, place + ".left_dB")},
           {"right_dB", number(band.right_dB, hundredths, place + ".right_dB")},
           {"sigma_dB", number(band.sigma_dB, share_steps, place + ".sigma_dB")}});
    }
    json["balance_dB"] = number(report_.levels.balance_dB, hundredths, "levels.balance_dB");
    json["balance_sigma_dB"] =
        number(report_.levels.balance_sigma_dB, share_steps, "levels.balance_sigma_dB");
    json["separation_dB"] =
        number(report_.levels.separation_dB, hundredths, "levels.separation_dB");
    json["separation_sigma_dB"] =
        number(report_.levels.separation_sigma_dB, share_steps, "levels.separation_sigma_dB");
    json["high_loss_dB_per_m"] =
        number(report_.levels.high_loss_dB_per_m, hundredths, "levels.high_loss_dB_per_m");
    json["high_loss_sigma_dB_per_m"] = number(
        report_.levels.high_loss_sigma_dB_per_m, hundredths, "levels.high_loss_sigma_dB_per_m");
    return json;
  }

  template <class Told>
  void nature(const Told& told, Json& json, const std::string& place) {
    json["nature"] = told.nature ? word(*told.nature, natures) : Json(nullptr);
    json["nature_probability"] =
        number(told.nature_probability, share_steps, place + ".nature_probability");
  }

  Json fault(const works::FaultEvent& event, const std::string& place) {
    Json json;
    json["id"] = event.id;
    json["kind"] = word(event.kind, fault_kinds);
    json["capture_s"] = number(event.capture_s, capture_steps, place + ".capture_s");
    json["programme_s"] = number(event.programme_s, capture_steps, place + ".programme_s");
    json["revolution"] = whole_number(event.revolution);
    json["angle_deg"] = number(event.angle_deg, hundredths, place + ".angle_deg");
    json["angle_sigma_deg"] = number(event.angle_sigma_deg, hundredths, place + ".angle_sigma_deg");
    json["radius_m"] = number(event.radius_m, metre_steps, place + ".radius_m");
    json["radius_sigma_m"] = number(event.radius_sigma_m, metre_steps, place + ".radius_sigma_m");
    json["duration_s"] = number(event.duration_s, time_steps, place + ".duration_s");
    json["peak_dB"] = number(event.peak_dB, hundredths, place + ".peak_dB");
    json["excess_dB"] = number(event.excess_dB, hundredths, place + ".excess_dB");
    json["channel"] = word(event.channel, fault_channels);
    json["plane"] = word(event.plane, planes);
    json["audibility"] = word(event.audibility, audibilities);
    json["margin_dB"] = number(event.margin_dB, hundredths, place + ".margin_dB");
    json["pattern"] = whole_number(event.pattern);
    json["programme_jump_s"] =
        number(event.programme_jump_s, capture_steps, place + ".programme_jump_s");
    nature(event, json, place);
    return json;
  }

  /// Masked faults stay out; the places in `undetermined` count what is written.
  Json faults() {
    Json json = Json::array();
    for (const auto& event : report_.faults) {
      if (event.audibility == works::Audibility::masked)
        masked_.insert(event.id);
      else
        json.push_back(fault(event, indexed("faults", json.size())));
    }
    return json;
  }

  Json patterns() {
    Json json = Json::array();
    for (const auto& pattern : report_.patterns) {
      const auto place = indexed("patterns", json.size());
      Json one;
      one["id"] = pattern.id;
      one["kind"] = word(pattern.kind, pattern_kinds);
      one["faults"] = Json::array();
      for (const int id : pattern.faults)
        if (!masked_.contains(id)) one["faults"].push_back(id);
      one["first_revolution"] = pattern.first_revolution;
      one["last_revolution"] = pattern.last_revolution;
      one["angle_deg"] = number(pattern.angle_deg, hundredths, place + ".angle_deg");
      one["angle_span_deg"] = number(pattern.angle_span_deg, hundredths, place + ".angle_span_deg");
      nature(pattern, one, place);
      json.push_back(std::move(one));
    }
    return json;
  }

  Json polar(const works::PolarMap& map) {
    EXPECTS(map.rows >= 0 && map.columns >= 0);
    const auto rows = static_cast<std::size_t>(map.rows);
    const auto columns = static_cast<std::size_t>(map.columns);
    EXPECTS(map.dB.size() == rows * columns);
    EXPECTS(map.coverage.empty() || map.coverage.size() == rows * columns);
    Json json;
    json["revolutions_per_row"] =
        number(map.revolutions_per_row, time_steps, "noise.polar.revolutions_per_row");
    json["columns"] = map.columns;
    json["rows"] = map.rows;
    json["reference"] = map.reference;
    json["dB"] = Json::array();
    json["coverage"] = Json::array();
    for (std::size_t row = 0; row < rows; ++row) {
      Json line = Json::array();
      for (std::size_t column = 0; column < columns; ++column)
        line.push_back(number(map.dB[row * columns + column],
                              hundredths,
                              indexed(indexed("noise.polar.dB", row), column)));
      json["dB"].push_back(std::move(line));
      if (!map.coverage.empty())
        json["coverage"].push_back(list(std::span{map.coverage}.subspan(row * columns, columns),
                                        share_steps,
                                        indexed("noise.polar.coverage", row)));
    }
    return json;
  }

  Json noise() {
    const auto& n = report_.noise;
    Json json;
    json["weighted_dB"] = number(n.weighted_dB, hundredths, "noise.weighted_dB");
    json["weighted_reference"] = n.weighted_reference;
    json["weighted_468_dB"] = number(n.weighted_468_dB, hundredths, "noise.weighted_468_dB");
    json["weighted_468_reference"] = n.weighted_468_reference;
    json["weighted_k_dB"] = number(n.weighted_k_dB, hundredths, "noise.weighted_k_dB");
    json["weighted_k_reference"] = n.weighted_k_reference;
    json["rumble_dB"] = number(n.rumble_dB, hundredths, "noise.rumble_dB");
    json["rumble_reference"] = n.rumble_reference;
    json["rumble_unweighted_dB"] =
        number(n.rumble_unweighted_dB, hundredths, "noise.rumble_unweighted_dB");
    json["rumble_unweighted_reference"] = n.rumble_unweighted_reference;
    json["hum_dB"] = number(n.hum_dB, hundredths, "noise.hum_dB");
    json["hum_reference"] = n.hum_reference;
    json["polar"] = n.polar ? polar(*n.polar) : Json(nullptr);
    json["echo"] = {{"lead_dB", number(n.echo.lead_dB, hundredths, "noise.echo.lead_dB")},
                    {"lag_dB", number(n.echo.lag_dB, hundredths, "noise.echo.lag_dB")}};
    return json;
  }

  Json warp() {
    if (!report_.warp) return nullptr;
    const auto& w = *report_.warp;
    Json json;
    json["once_per_turn_dB"] = number(w.once_per_turn_dB, hundredths, "warp.once_per_turn_dB");
    json["harmonics_dB"] = number(w.harmonics_dB, hundredths, "warp.harmonics_dB");
    json["background_dB"] = number(w.background_dB, hundredths, "warp.background_dB");
    json["reference"] = w.reference;
    return json;
  }

  Json turn() {
    if (!report_.turn) return nullptr;
    const auto& t = *report_.turn;
    Json json;
    json["rpm"] = number(t.rpm, rpm_steps, "turn.rpm");
    json["sigma_rpm"] = number(t.sigma_rpm, rpm_steps, "turn.sigma_rpm");
    json["nominal_rpm"] = number(t.nominal_rpm, rpm_steps, "turn.nominal_rpm");
    json["evidence"] = t.evidence;
    json["chance"] = number(t.chance, chance_steps, "turn.chance");
    return json;
  }

  Json tone() {
    if (!report_.tone) return nullptr;
    const auto& t = *report_.tone;
    Json json;
    json["nominal_Hz"] = number(t.nominal_Hz, hundredths, "tone.nominal_Hz");
    json["measured_Hz"] = number(t.measured_Hz, share_steps, "tone.measured_Hz");
    json["from_s"] = number(t.from_s, time_steps, "tone.from_s");
    json["to_s"] = number(t.to_s, time_steps, "tone.to_s");
    json["speed_error_ppm"] = number(t.speed_error_ppm, hundredths, "tone.speed_error_ppm");
    json["speed_sigma_ppm"] = number(t.speed_sigma_ppm, hundredths, "tone.speed_sigma_ppm");
    json["drift_ppm_per_min"] = number(t.drift_ppm_per_min, hundredths, "tone.drift_ppm_per_min");
    const auto deviation = [&](const char* name, const std::optional<double>& value) {
      json[name] = number(value, deviation_steps, std::string{"tone."} + name);
    };
    deviation("weighted_2sigma", t.weighted_2sigma);
    deviation("weighted_peak", t.weighted_peak);
    deviation("unweighted_2sigma", t.unweighted_2sigma);
    deviation("unweighted_peak", t.unweighted_peak);
    deviation("noise_2sigma", t.noise_2sigma);
    return json;
  }

  Json verdict() {
    Json json;
    json["pass"] = report_.verdict.pass;
    json["limits"] = report_.verdict.limits;
    json["reasons"] = Json::array();
    for (std::size_t i = 0; i < report_.verdict.reasons.size(); ++i) {
      const auto& reason = report_.verdict.reasons[i];
      const auto place = indexed("verdict.reasons", i);
      // A value may be a count, decibels, metres or a fraction: as many digits as the finest of
      // them.
      json["reasons"].push_back({{"rule", reason.rule},
                                 {"value", number(reason.value, deviation_steps, place + ".value")},
                                 {"limit", number(reason.limit, deviation_steps, place + ".limit")},
                                 {"text", reason.text}});
    }
    return json;
  }

  Json undetermined() {
    Json json = Json::array();
    std::set<std::string> named;
    for (const auto& [field, why] : report_.undetermined) {
      json.push_back({{"field", field}, {"why", why}});
      named.insert(field);
    }
    for (const auto& field : not_finite_)
      if (named.insert(field).second)
        json.push_back({{"field", field}, {"why", "the calculation gave no finite number"}});
    return json;
  }

  const works::ListeningReport& report_;
  std::vector<std::string> not_finite_;
  std::set<int> masked_;
};

}  // namespace

std::string write(const works::ListeningReport& report) {
  return lay_out(Writer{report}.whole_report());
}

}  // namespace goodside::json
