#include <nlohmann/json.hpp>
#include <string>

#include "json/figures.hpp"
#include "json/layout.hpp"
#include "json/truth.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

/// Steps a unit: the last digit that is written.
constexpr double time_steps = 1e9;
constexpr double metre_steps = 1e9;
constexpr double fine_steps = 1e4;  // dB, degrees, ppm

Json fault(const works::TrueFault& fault) {
  Json json;
  json["kind"] = word(fault.kind, fault_kinds);
  json["capture_s"] = rounded(fault.capture_s, time_steps);
  json["programme_s"] = rounded(fault.programme_s, time_steps);
  json["revolution"] = fault.revolution;
  json["angle_deg"] = rounded(fault.angle_deg, fine_steps);
  json["radius_m"] = rounded(fault.radius_m, metre_steps);
  json["duration_s"] = rounded(fault.duration_s, time_steps);
  json["peak_dB"] = rounded(fault.peak_dB, fine_steps);
  json["channel"] = word(fault.channel, fault_channels);
  json["plan"] = fault.plan ? Json(*fault.plan) : Json(nullptr);
  json["pattern"] = fault.pattern ? Json(word(*fault.pattern, pattern_kinds)) : Json(nullptr);
  json["programme_jump_s"] =
      fault.programme_jump_s ? Json(rounded(*fault.programme_jump_s, time_steps)) : Json(nullptr);
  return json;
}

}  // namespace

std::string write(const works::Truth& truth) {
  Json json;
  json["schema"] = "goodside.truth/1";
  json["frames"] = truth.frames;
  json["sample_rate_Hz"] = truth.sample_rate_Hz;
  json["programme_start_s"] = rounded(truth.programme_start_s, time_steps);
  json["programme_end_s"] = rounded(truth.programme_end_s, time_steps);
  json["speed_error_ppm"] = rounded(truth.speed_error_ppm, fine_steps);
  json["drive_error_ppm"] = rounded(truth.drive_error_ppm, fine_steps);
  json["eccentricity_m"] = rounded(truth.eccentricity_m, metre_steps);
  json["eccentricity_direction_deg"] = rounded(truth.eccentricity_direction_deg, fine_steps);
  json["geometry"] = {{"format", truth.geometry.format},
                      {"rpm", truth.geometry.rpm},
                      {"outer_radius_m", rounded(truth.geometry.outer_radius_m, metre_steps)},
                      {"inner_radius_m", rounded(truth.geometry.inner_radius_m, metre_steps)},
                      {"pitch_m", rounded(truth.geometry.pitch_m, metre_steps)}};
  json["stretches"] = Json::array();
  for (const works::TrueStretch& stretch : truth.stretches)
    json["stretches"].push_back(
        {{"capture_from_s", rounded(stretch.capture_from_s, time_steps)},
         {"capture_to_s", rounded(stretch.capture_to_s, time_steps)},
         {"programme_from_s", rounded(stretch.programme_from_s, time_steps)},
         {"programme_to_s", rounded(stretch.programme_to_s, time_steps)}});
  json["faults"] = Json::array();
  for (const works::TrueFault& one : truth.faults) json["faults"].push_back(fault(one));
  json["track_hop_s"] = truth.track_hop_s;
  json["track_programme_s"] = Json::array();
  for (const double programme_s : truth.track_programme_s)
    json["track_programme_s"].push_back(rounded(programme_s, time_steps));
  return lay_out(json);
}

}  // namespace goodside::json
