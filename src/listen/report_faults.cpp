#include "listen/report_faults.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include "listen/audibility.hpp"
#include "listen/crackle_line.hpp"
#include "listen/nature.hpp"
#include "listen/patterns.hpp"

namespace goodside::listen {
namespace {

constexpr double radius_sigma_m =
    0.3e-3;  // of a radius from nominal geometry: common practice, no source
constexpr double angle_floor_deg = 0.1;

/// Programme time, turn, angle and radius of a moment of the capture.
void place_on_disc(const FaultMaterial& material,
                   const FollowedStretch& stretch,
                   works::FaultEvent& fault) {
  const double programme_s = stretch.curve.programme_at(fault.capture_s);
  const double turns = programme_s * material.rpm / 60.0;
  fault.programme_s = programme_s;
  fault.revolution = static_cast<std::int64_t>(std::floor(turns));
  fault.angle_deg = 360.0 * (turns - std::floor(turns));
  fault.angle_sigma_deg =
      std::hypot(angle_floor_deg, material.angle_sigma_deg_per_revolution * turns);
  fault.radius_m = material.radius_m(programme_s);
  fault.radius_sigma_m = radius_sigma_m;
}

const FollowedStretch& stretch_of(const SideTrack& track, double capture_s) {
  for (const FollowedStretch& stretch : track.stretches)
    if (capture_s < stretch.capture_to_s) return stretch;
  return track.stretches.back();
}

works::FaultEvent fault_of(const FaultMaterial& material, const ResidualEvent& event) {
  works::FaultEvent fault;
  const FaultClass named = classify(event.features);
  fault.kind = named.kind;
  fault.channel = named.channel;
  fault.plane = named.plane;
  fault.capture_s = event.at_s;
  fault.duration_s = event.features.duration_s;
  fault.peak_dB = event.features.peak_dB;
  fault.excess_dB = event.features.excess_dB;
  if (event.margin_dB && std::isfinite(*event.margin_dB)) fault.margin_dB = event.margin_dB;
  fault.audibility = audibility({event.fault_energy, event.noise_energy, event.programme_energy});
  place_on_disc(material, stretch_of(material.track, event.at_s), fault);
  return fault;
}

/// Skips and repeats, from the seams between stretches.
std::vector<works::FaultEvent> jumps(const FaultMaterial& material) {
  std::vector<works::FaultEvent> found;
  const auto& stretches = material.track.stretches;
  for (std::size_t s = 0; s + 1 < stretches.size(); ++s) {
    works::FaultEvent fault;
    fault.capture_s = stretches[s].capture_to_s;
    place_on_disc(material, stretches[s], fault);
    const double jump_s = stretches[s + 1].curve.programme_at(fault.capture_s) - *fault.programme_s;
    fault.programme_jump_s = jump_s;
    fault.kind = jump_s > 0.0 ? works::FaultKind::jump : works::FaultKind::repeat;
    fault.audibility = works::Audibility::plain;
    found.push_back(fault);
  }
  return found;
}

/// Whether the reference is known to have a fault of its own there.
bool is_known(double programme_s,
              double duration_s,
              const std::optional<works::Reference>& reference) {
  constexpr double grace_s = 2e-3;
  return reference && std::ranges::any_of(reference->own_faults, [&](const works::Interval_s& own) {
           return programme_s <= own.to_s + grace_s &&
                  programme_s + duration_s >= own.from_s - grace_s;
         });
}

/// Adds what was found of the reference's own faults to what was known of them.
void mark_own_faults(std::vector<works::Interval_s> found, works::Reference& reference) {
  std::vector<works::Interval_s>& all = reference.own_faults;
  all.insert(all.end(), found.begin(), found.end());
  std::ranges::sort(all, {}, &works::Interval_s::from_s);
  std::vector<works::Interval_s> merged;
  for (const works::Interval_s& one : all) {
    if (!merged.empty() && one.from_s <= merged.back().to_s + 1e-3)
      merged.back().to_s = std::max(merged.back().to_s, one.to_s);
    else
      merged.push_back(one);
  }
  all = std::move(merged);
}

std::vector<NatureOdds> odds_of(const FaultMaterial& material,
                                const std::vector<works::FaultEvent>& faults,
                                const std::vector<const ResidualEvent*>& heard) {
  const auto event = [&](std::size_t k) {
    return NatureEvent{*faults[k].programme_s,
                       faults[k].duration_s,
                       heard[k]->features.mean_dB,
                       heard[k]->features.ground_dB};
  };
  GrooveGround ground = material.ground;
  for (std::size_t k = 0; k < faults.size(); ++k) set_aside_if_brief(event(k), ground);
  std::vector<NatureOdds> odds;
  for (std::size_t k = 0; k < faults.size(); ++k)
    odds.push_back(nature_odds(event(k), ground, 60.0 / material.rpm));
  return odds;
}

/// By capture time, each fault's odds beside it.
void in_order(std::vector<works::FaultEvent>& faults, std::vector<NatureOdds>& odds) {
  std::vector<std::size_t> order(faults.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, {}, [&](std::size_t k) { return faults[k].capture_s; });
  std::vector<works::FaultEvent> sorted;
  std::vector<NatureOdds> beside;
  for (const std::size_t k : order) {
    sorted.push_back(faults[k]);
    beside.push_back(odds[k]);
  }
  faults = std::move(sorted);
  odds = std::move(beside);
}

}  // namespace

void report_faults(const FaultMaterial& material, works::ListeningReport& report) {
  std::vector<works::FaultEvent> faults;
  std::vector<const ResidualEvent*> heard;
  std::vector<CrackleEvent> crackle;
  std::vector<works::Interval_s> own;
  for (const ResidualEvent& event : material.events) {
    works::FaultEvent fault = fault_of(material, event);
    if (fault.audibility == works::Audibility::masked) {
      ++report.masked_count;
      continue;
    }
    if (event.of_reference || is_known(*fault.programme_s, fault.duration_s, report.reference)) {
      own.push_back({*fault.programme_s, *fault.programme_s + fault.duration_s});
      continue;
    }
    crackle.push_back({event.severity_dB, *fault.programme_s * material.rpm / 60.0});
    heard.push_back(&event);
    faults.push_back(fault);
  }
  if (report.reference && !own.empty()) mark_own_faults(std::move(own), *report.reference);
  if (material.shellac_type && !faults.empty()) {
    double heard_s = 0.0;
    for (const works::Interval_s& part : report.heard) heard_s += part.to_s - part.from_s;
    const CrackleLine line = crackle_line(crackle, std::max(heard_s, 1.0), material.rpm);
    if (line.applied) {
      std::vector<works::FaultEvent> kept;
      std::vector<const ResidualEvent*> kept_heard;
      for (std::size_t k = 0; k < faults.size(); ++k) {
        if (line.is_crackle[k] != 0) continue;
        kept.push_back(faults[k]);
        kept_heard.push_back(heard[k]);
      }
      report.masked_count += line.crackle_count;
      report.remarks.push_back("surface crackle of " +
                               std::to_string(std::lround(line.rate_per_min)) +
                               " events a minute counts as noise, not as faults");
      faults = std::move(kept);
      heard = std::move(kept_heard);
    }
  }
  std::vector<NatureOdds> odds = odds_of(material, faults, heard);
  rename_by_nature(faults, odds);
  const std::vector<works::FaultEvent> seams = jumps(material);
  faults.insert(faults.end(), seams.begin(), seams.end());
  odds.resize(faults.size());
  in_order(faults, odds);
  for (std::size_t k = 0; k < faults.size(); ++k) faults[k].id = static_cast<int>(k) + 1;
  report.patterns = find_patterns(faults, report.heard, {.rpm = material.rpm});
  tell_natures(faults, odds, report.patterns);
  report.faults = std::move(faults);
}

}  // namespace goodside::listen
