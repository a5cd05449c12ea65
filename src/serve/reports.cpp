#include "serve/reports.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <sstream>

#include "intake/compressed_file.hpp"
#include "intake/safe_file.hpp"
#include "json/listening_report.hpp"
#include "serve/geometry_node.hpp"
#include "serve/nodes.hpp"

namespace goodside::serve {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_curve_points = 2000;
constexpr std::size_t largest_portrait = std::size_t{16} << 20;

/// Every n-th point is not enough: the extremes of each stretch stay, so that nothing is hidden.
void thin(works::WowCurve& curve) {
  const std::size_t count = curve.time_s.size();
  if (count <= most_curve_points) return;
  const std::size_t stretch = (2 * count + most_curve_points - 1) / most_curve_points;
  works::WowCurve thinned;
  for (std::size_t from = 0; from < count; from += stretch) {
    const std::size_t to = std::min(count, from + stretch);
    std::size_t low = from, high = from;
    for (std::size_t k = from; k < to; ++k) {
      if (curve.deviation[k] < curve.deviation[low]) low = k;
      if (curve.deviation[k] > curve.deviation[high]) high = k;
    }
    for (const std::size_t k : {std::min(low, high), std::max(low, high)}) {
      thinned.time_s.push_back(curve.time_s[k]);
      thinned.deviation.push_back(curve.deviation[k]);
      if (low == high) break;
    }
  }
  curve = std::move(thinned);
}

json::Node member(const json::Node& node, std::string_view name) {
  const json::Node* const found = node.find(name);
  return found == nullptr ? json::Node{} : *found;
}

/// The members of a report that the bench draws, in the report's own words.
json::Node portrait_node(const std::string& code,
                         const json::Node& report,
                         const works::SideGeometry& side) {
  const json::Node alignment = member(report, "alignment"), wow = member(report, "wow");
  json::Node noise = member(report, "noise"), polar = member(noise, "polar");
  if (auto* object = std::get_if<Object>(&noise.value))
    std::erase_if(*object, [](const auto& one) { return one.first == "polar"; });
  return Object{{"report", code},
                {"shape", geometry_node(side)},
                {"duration_s", member(member(report, "capture"), "duration_s")},
                {"programme_start_s", member(alignment, "programme_start_s")},
                {"programme_end_s", member(alignment, "programme_end_s")},
                {"heard", member(report, "heard")},
                {"faults", member(report, "faults")},
                {"patterns", member(report, "patterns")},
                {"polar", std::move(polar)},
                {"offset",
                 Object{{"eccentricity_m", member(wow, "eccentricity_m")},
                        {"eccentricity_sigma_m", member(wow, "eccentricity_sigma_m")},
                        {"eccentricity_direction_deg", member(wow, "eccentricity_direction_deg")}}},
                {"verdict", member(report, "verdict")},
                {"alignment", alignment},
                {"levels", member(report, "levels")},
                {"wow", wow},
                {"noise", std::move(noise)},
                {"undetermined", member(report, "undetermined")},
                {"remarks", member(report, "remarks")}};
}

/// What lies between the stretches that were heard, of a programme `length_s` long.
std::vector<works::Interval_s> rest_of(std::vector<works::Interval_s> heard,
                                       double length_s,
                                       double least_s) {
  std::ranges::sort(heard, {}, &works::Interval_s::from_s);
  std::vector<works::Interval_s> rest;
  double to_s = 0.0;
  heard.push_back({length_s, length_s});
  for (const works::Interval_s& one : heard) {
    if (one.from_s - to_s > least_s) rest.push_back({to_s, std::min(one.from_s, length_s)});
    to_s = std::max(to_s, one.to_s);
  }
  return rest;
}

}  // namespace

std::string Reports::path_of(const std::string& recorded) const {
  return (fs::path{folder_} / recorded).string();
}

std::string Reports::text(const ledger::Row& report) const {
  return or_stop(intake::read_compressed(path_of(ledger::text(ledger::at(report, "path"))),
                                         json::largest_report_bytes));
}

std::string Reports::portrait_path(const ledger::Row& report) const {
  return fmt::format(
      "{}/serve/portraits/{}.json.gz", folder_, ledger::text(ledger::at(report, "sha256")));
}

std::string Reports::not_heard_path(const ledger::Row& report) const {
  return fmt::format(
      "{}/serve/portraits/{}.heard", folder_, ledger::text(ledger::at(report, "sha256")));
}

/// A line a stretch: a contact sheet asks for sixty of these at once.
void Reports::keep_not_heard(const ledger::Row& report, const works::ListeningReport& heard) const {
  std::string lines;
  if (heard.reference && heard.alignment && heard.alignment->found && heard.geometry.rpm > 0.0)
    for (const auto& one :
         rest_of(heard.heard, heard.reference->file.duration_s, 60.0 / heard.geometry.rpm))
      lines += fmt::format("{} {}\n", one.from_s, one.to_s);
  static_cast<void>(intake::write_whole(not_heard_path(report), lines));
}

std::vector<works::Interval_s> Reports::not_heard(const ledger::Row& report) const {
  auto lines = intake::read_whole(not_heard_path(report));
  if (!lines) {
    // Heard before these were kept.
    const auto heard = or_stop(json::read(text(report)));
    keep_not_heard(report, heard);
    lines = intake::read_whole(not_heard_path(report));
  }
  std::vector<works::Interval_s> rest;
  if (!lines) return rest;
  std::istringstream words{*lines};
  for (works::Interval_s one; words >> one.from_s >> one.to_s;) rest.push_back(one);
  return rest;
}

void Reports::prepare(const ledger::Row& report) const {
  std::error_code ignored;
  if (!fs::exists(portrait_path(report), ignored)) static_cast<void>(portrait(report));
}

std::string Reports::portrait(const ledger::Row& report) const {
  const std::string path = portrait_path(report);
  if (auto kept = intake::read_compressed(path, largest_portrait)) return std::move(*kept);
  auto heard = or_stop(json::read(text(report)));
  keep_not_heard(report, heard);
  thin(heard.wow.curve);
  const auto node = or_stop(
      json::read_node(json::write(heard), json::largest_report_bytes, "the listening report"));
  std::string made =
      json::one_line(portrait_node(ledger::text(ledger::at(report, "code")), node, heard.geometry));
  // A portrait that cannot be kept is made again the next time.
  static_cast<void>(intake::write_compressed(path, made));
  return made;
}

}  // namespace goodside::serve
