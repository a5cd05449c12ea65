#include "listen/disc_plays.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "base/expects.hpp"
#include "listen/dust.hpp"
#include "listen/fault_places.hpp"
#include "listen/seating.hpp"
#include "listen/verdict.hpp"

namespace goodside::listen {
namespace {

using works::After;
using works::Audibility;
using works::ListeningReport;

constexpr double groove_prior = 0.95, even_prior = 0.5;

Error about(const ListeningReport& play, const std::string& what) {
  return {Fault::bad_input, fmt::format("{}: {}", play.capture.path, what)};
}

Outcome check_plays(std::span<const ListeningReport> plays) {
  if (plays.size() < 2)
    return Error{Fault::bad_input,
                 "one play cannot be compared with others; give two or more of the same disc"};
  for (const auto& play : plays) {
    if (!play.reference || !play.alignment)
      return about(play,
                   "heard without its cut; plays are compared by programme time: give the "
                   "reference");
    if (!play.alignment->found)
      return about(play, "the cut was not found in it; leave it out or capture that play again");
    if (play.reference->file.sha256 != plays.front().reference->file.sha256)
      return about(play, "heard against another cut than the first play");
  }
  return Done{};
}

const works::Pattern* pattern_of(const ListeningReport& play, const works::FaultEvent& fault) {
  if (!fault.pattern) return nullptr;
  const auto found = std::find_if(play.patterns.begin(), play.patterns.end(), [&](const auto& one) {
    return one.id == *fault.pattern;
  });
  return found == play.patterns.end() ? nullptr : &*found;
}

/// Made by the groove's own shape, as its pattern or its noise tells.
bool is_of_the_groove(const ListeningReport& play, const works::FaultEvent& fault) {
  if (fault.nature == works::Nature::non_fill) return true;
  const auto* pattern = pattern_of(play, fault);
  return pattern != nullptr && (pattern->kind == works::PatternKind::radial ||
                                pattern->nature == works::Nature::non_fill);
}

works::DiscPlay summary_of(const ListeningReport& play, After after, int seating) {
  works::DiscPlay one{.capture = play.capture,
                      .after = after,
                      .heard = play.heard,
                      .eccentricity_m = play.wow.eccentricity_m,
                      .eccentricity_sigma_m = play.wow.eccentricity_sigma_m,
                      .eccentricity_direction_deg = play.wow.eccentricity_direction_deg,
                      .seating = seating};
  for (const auto& fault : play.faults)
    ++(fault.audibility == Audibility::plain ? one.plain_faults : one.slight_faults);
  return one;
}

std::vector<works::DiscPlay> summaries(std::span<const ListeningReport> plays,
                                       std::span<const After> after) {
  std::vector<works::DiscPlay> all;
  int seating = 1;
  for (std::size_t p = 0; p < plays.size(); ++p) {
    if (p > 0 && (after[p] == After::reseated || after[p] == After::washed)) ++seating;
    all.push_back(summary_of(plays[p], after[p], seating));
  }
  return all;
}

works::FaultPlace place_of(const MatchedPlace& matched,
                           std::span<const ListeningReport> plays,
                           std::span<const After> after,
                           const works::Detection& detection) {
  works::FaultPlace place;
  place.plays = matched.plays;
  bool plain = false, groove = false, again = false;
  for (std::size_t p = 0; p < plays.size(); ++p) {
    if (!matched.fault[p]) continue;
    place.fault = plays[p].faults[*matched.fault[p]];
    plain = plain || place.fault.audibility == Audibility::plain;
    groove = groove || is_of_the_groove(plays[p], place.fault);
    if (again) place.chance *= matched.coincidence[p];
    again = true;
  }
  if (plain) place.fault.audibility = Audibility::plain;
  place.fault.pattern.reset();
  place.disc_probability =
      disc_probability({.plays = matched.plays,
                        .after = after,
                        .coincidence = matched.coincidence,
                        .detection = plain ? detection.plain : detection.slight,
                        .disc_prior = groove ? groove_prior : even_prior});
  place.owner = owner_of(place.disc_probability);
  return place;
}

works::HoleOffset hole_of_plays(const std::vector<works::DiscPlay>& plays) {
  constexpr double least_sigma_m = 1e-7;  // the last digit of a report
  std::vector<SeatedOffset> offsets;
  for (const auto& play : plays)
    if (play.eccentricity_m && play.eccentricity_sigma_m && play.eccentricity_direction_deg)
      offsets.push_back({.eccentricity_m = *play.eccentricity_m,
                         .sigma_m = std::max(*play.eccentricity_sigma_m, least_sigma_m),
                         .direction_deg = *play.eccentricity_direction_deg,
                         .seating = play.seating});
  return hole_of(offsets);
}

std::vector<works::Interval_s> heard_in_any(std::span<const ListeningReport> plays) {
  std::vector<works::Interval_s> all;
  for (const auto& play : plays) all.insert(all.end(), play.heard.begin(), play.heard.end());
  std::ranges::sort(all, {}, &works::Interval_s::from_s);
  std::vector<works::Interval_s> joined;
  for (const auto& part : all)
    if (!joined.empty() && part.from_s <= joined.back().to_s)
      joined.back().to_s = std::max(joined.back().to_s, part.to_s);
    else
      joined.push_back(part);
  return joined;
}

/// The last play's report with nothing in it but what belongs to the disc.
ListeningReport without_dust(std::span<const ListeningReport> plays,
                             const Matched& matched,
                             const works::DiscPlays& result) {
  ListeningReport merged = plays.back();
  merged.heard = heard_in_any(plays);
  merged.wow.eccentricity_m = result.hole.eccentricity_m;
  merged.wow.eccentricity_sigma_m = result.hole.eccentricity_sigma_m;
  merged.wow.eccentricity_direction_deg = result.hole.eccentricity_direction_deg;
  merged.faults.clear();
  std::vector<int> kept;  // ids of the last play's faults that stay
  for (std::size_t i = 0; i < result.places.size(); ++i) {
    if (result.places[i].disc_probability < 0.5) continue;
    merged.faults.push_back(result.places[i].fault);
    if (const auto last = matched.places[i].fault.back())
      kept.push_back(plays.back().faults[*last].id);
  }
  for (auto& pattern : merged.patterns)
    std::erase_if(pattern.faults,
                  [&](int id) { return std::ranges::find(kept, id) == kept.end(); });
  std::erase_if(merged.patterns, [](const auto& pattern) { return pattern.faults.empty(); });
  return merged;
}

void name_unknown(works::DiscPlays& result) {
  const auto& hole = result.hole;
  if (!hole.eccentricity_m) {
    result.undetermined.push_back({"hole", "no play told its offset"});
  } else if (hole.seatings == 1) {
    result.undetermined.push_back(
        {"hole.seating_spread_m",
         "one seating only: reseat the disc and play it again to tell the hole from the seating"});
  } else if (!hole.seating_spread_m) {
    result.undetermined.push_back(
        {"hole.seating_spread_m", "the seatings differ by no more than the measuring errors"});
  }
  if (!result.jitter_s)
    result.undetermined.push_back({"jitter_s", "no tick was found in two plays"});
}

}  // namespace

Result<works::DiscPlays> compare_plays(std::span<const ListeningReport> plays,
                                       std::span<const After> after,
                                       const works::Limits& limits) {
  EXPECTS(plays.size() == after.size());
  if (const auto usable = check_plays(plays); !usable) return usable.error();
  works::DiscPlays result;
  result.reference = plays.front().reference;
  result.geometry = plays.front().geometry;
  result.plays = summaries(plays, after);
  const Matched matched = match_places(plays);
  result.match_window_s = matched.window_s;
  result.jitter_s = matched.jitter_s;
  result.detection = detection(matched, plays, after);
  for (const auto& one : matched.places) {
    result.places.push_back(place_of(one, plays, after, result.detection));
    result.places.back().fault.id = static_cast<int>(result.places.size());
  }
  result.hole = hole_of_plays(result.plays);
  auto judged = judge(without_dust(plays, matched, result), limits);
  result.verdict = std::move(judged.verdict);
  result.remarks = std::move(judged.remarks);
  name_unknown(result);
  return result;
}

}  // namespace goodside::listen
