#include "json/centring.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "json/figures.hpp"
#include "json/layout.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

constexpr double length_steps = 1e9, angle_steps = 1e3, share_steps = 1e8, pixel_steps = 1e4;

std::string_view word_of(works::CentringStanding standing) {
  switch (standing) {
    case works::CentringStanding::within:
      return "within";
    case works::CentringStanding::outside:
      return "outside";
    case works::CentringStanding::undecided:
      break;
  }
  return "undecided";
}

Json offset(const works::OffsetEstimate& one) {
  Json json{{"x_m", figure(one.x_m, length_steps)},
            {"y_m", figure(one.y_m, length_steps)},
            {"x_sigma_m", figure(one.x_sigma_m, length_steps)},
            {"y_sigma_m", figure(one.y_sigma_m, length_steps)},
            {"correlation", figure(one.correlation, share_steps)},
            {"confidence", figure(one.confidence, share_steps)},
            {"x_low_m", figure(one.x_low_m, length_steps)},
            {"x_high_m", figure(one.x_high_m, length_steps)},
            {"y_low_m", figure(one.y_low_m, length_steps)},
            {"y_high_m", figure(one.y_high_m, length_steps)}};
  json["region"] = nullptr;
  if (one.region)
    json["region"] = {{"half_major_m", figure(one.region->half_major_m, length_steps)},
                      {"half_minor_m", figure(one.region->half_minor_m, length_steps)},
                      {"major_direction_deg", figure(one.region->major_direction_deg, angle_steps)},
                      {"nearest_m", figure(one.region->nearest_m, length_steps)},
                      {"farthest_m", figure(one.region->farthest_m, length_steps)}};
  json["degrees_of_freedom"] = figure(one.degrees_of_freedom, 1e3);
  json["scatter_m"] = figure(one.scatter_m, length_steps);
  json["scatter_from"] = one.scatter_from;
  json["mean_position_m"] = figure(one.mean_position_m, length_steps);
  json["out_of_round"] = nullptr;
  if (one.out_of_round)
    json["out_of_round"] = {{"amplitude_m", figure(one.out_of_round->amplitude_m, length_steps)},
                            {"direction_deg", figure(one.out_of_round->direction_deg, angle_steps)},
                            {"sigma_m", figure(one.out_of_round->sigma_m, length_steps)},
                            {"chance", figure(one.out_of_round->chance, share_steps)}};
  json["stations"] = one.stations;
  json["readings"] = Json::array();
  for (const auto& reading : one.readings)
    json["readings"].push_back({{"angle_deg", figure(reading.angle_deg, angle_steps)},
                                {"position_m", figure(reading.position_m, length_steps)},
                                {"residual_m", figure(reading.residual_m, length_steps)},
                                {"kept", reading.kept}});
  json["remarks"] = one.remarks;
  return json;
}

Json photograph(const works::PhotographFound& one) {
  Json json{{"width_px", one.width_px},
            {"height_px", one.height_px},
            {"scale_px_per_m", figure(one.scale_px_per_m, 1e3)},
            {"tilt_deg", figure(one.tilt_deg, angle_steps)},
            {"tilt_measured", one.tilt_measured},
            {"offset_sigma_px", figure(one.offset_sigma_px, pixel_steps)}};
  json["circles"] = Json::array();
  for (const auto& circle : one.circles)
    json["circles"].push_back({{"name", circle.name},
                               {"diameter_m", figure(circle.diameter_m, length_steps)},
                               {"share", figure(circle.share, share_steps)},
                               {"scatter_px", figure(circle.scatter_px, pixel_steps)},
                               {"centre_x_px", figure(circle.centre_x_px, pixel_steps)},
                               {"centre_y_px", figure(circle.centre_y_px, pixel_steps)}});
  return json;
}

Json heard(const works::HeardBeside& one) {
  return {{"discs", one.discs},
          {"heard_m", figure(one.heard_m, length_steps)},
          {"low_m", figure(one.low_m, length_steps)},
          {"high_m", figure(one.high_m, length_steps)},
          {"read_low_m", figure(one.read_low_m, length_steps)},
          {"read_high_m", figure(one.read_high_m, length_steps)},
          {"seating_m", figure(one.seating_m, length_steps)},
          {"agree", one.agree},
          {"from", one.from},
          {"said", one.said}};
}

}  // namespace

std::string write(const works::CentringReport& report) {
  Json json;
  json["schema"] = "goodside.centre/1";
  json["source"] = report.source;
  json["standing"] = word_of(report.standing);
  json["length_m"] = figure(report.length_m, length_steps);
  json["direction_deg"] = figure(report.direction_deg, angle_steps);
  json["limit_m"] = figure(report.limit_m, length_steps);
  json["limit_from"] = report.limit_from;
  json["move_x_m"] = figure(report.move_x_m, length_steps);
  json["move_y_m"] = figure(report.move_y_m, length_steps);
  json["move_m"] = figure(report.move_m, length_steps);
  json["move_towards_deg"] = figure(report.move_towards_deg, angle_steps);
  json["more_readings"] = report.more_readings ? Json(*report.more_readings) : Json(nullptr);
  json["more_why"] = report.more_why;
  json["rpm"] = figure(report.rpm, 1e6);
  json["wow"] = Json::array();
  for (const auto& wow : report.wow)
    json["wow"].push_back({{"groove", wow.groove},
                           {"radius_m", figure(wow.radius_m, length_steps)},
                           {"peak", figure(wow.peak, share_steps)},
                           {"low", figure(wow.low, share_steps)},
                           {"high", figure(wow.high, share_steps)},
                           {"after_peak", figure(wow.after_peak, share_steps)}});
  json["offset"] = offset(report.offset);
  json["photograph"] = report.photograph ? photograph(*report.photograph) : Json(nullptr);
  json["heard"] = report.heard ? heard(*report.heard) : Json(nullptr);
  json["remarks"] = report.remarks;
  return lay_out(json);
}

}  // namespace goodside::json
