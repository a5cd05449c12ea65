#include "json/reference_fields.hpp"

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "base/expects.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;
constexpr double time_steps = 1e7;  // 0.1 us, as capture_s
constexpr double rate_steps = 1e2;

double rounded(double value, double steps) {
  EXPECTS(std::isfinite(value));
  return std::nearbyint(value * steps) / steps + 0.0;  // "+ 0.0" turns -0 into 0
}

}  // namespace

works::AudioFile read_audio_file(const Cursor& json) {
  return {.path = json["path"].text(),
          .sample_rate_Hz = json["sample_rate_Hz"].number(),
          .channels = json["channels"].whole_number(),
          .duration_s = json["duration_s"].number(),
          .sha256 = json["sha256"].text_or_nothing()};
}

Json audio_file_fields(const works::AudioFile& file) {
  return {{"path", file.path},
          {"sample_rate_Hz", rounded(file.sample_rate_Hz, rate_steps)},
          {"channels", file.channels},
          {"duration_s", rounded(file.duration_s, time_steps)},
          {"sha256", file.sha256}};
}

std::vector<works::Interval_s> read_intervals(const Cursor& json) {
  std::vector<works::Interval_s> all;
  if (json.is_null()) return all;
  json.list();
  for (std::size_t i = 0; i < json.size(); ++i) {
    const auto pair = json.at(i);
    if (pair.list().size() != 2) pair.refuse("two times should stand here, from and to");
    const works::Interval_s interval{.from_s = pair.at(0).number(), .to_s = pair.at(1).number()};
    if (interval.to_s < interval.from_s) pair.refuse("ends before it begins");
    all.push_back(interval);
  }
  return all;
}

Json interval_fields(const std::vector<works::Interval_s>& intervals) {
  Json json = Json::array();
  for (const works::Interval_s& one : intervals)
    json.push_back({rounded(one.from_s, time_steps), rounded(one.to_s, time_steps)});
  return json;
}

void read_reference_fields(const Cursor& json, works::Reference& reference) {
  reference.own_faults = read_intervals(json["own_faults"]);
  const auto peers = json["peers"];
  if (peers.is_null()) return;
  peers.list();
  for (std::size_t i = 0; i < peers.size(); ++i) {
    const auto peer = peers.at(i);
    reference.peers.push_back({.file = read_audio_file(peer),
                               .covers = read_intervals(peer["covers"]),
                               .outvoted = static_cast<int>(peer["outvoted"].whole_number(
                                   0, std::numeric_limits<int>::max()))});
  }
}

void add_reference_fields(const works::Reference& reference, Json& json) {
  json["own_faults"] = interval_fields(reference.own_faults);
  if (reference.peers.empty()) return;
  json["peers"] = Json::array();
  for (const works::VotingPeer& peer : reference.peers) {
    Json one = audio_file_fields(peer.file);
    one["covers"] = interval_fields(peer.covers);
    one["outvoted"] = peer.outvoted;
    json["peers"].push_back(std::move(one));
  }
}

}  // namespace goodside::json
