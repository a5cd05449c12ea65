#include "trace/trace.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <unordered_map>

#include "base/in_parallel.hpp"
#include "trace/action.hpp"
#include "trace/causes.hpp"
#include "trace/check_family.hpp"
#include "trace/next_act.hpp"
#include "trace/recurring.hpp"
#include "trace/spread.hpp"
#include "trace/suspects.hpp"

namespace goodside::trace {
namespace {

using works::DiscSide;

/// A remark on a carton is one on a disc of which only the carton is known.
void stand_for_cartons(works::Family& family) {
  std::unordered_map<std::string, works::Impressions> range_of;
  for (const auto& lot : family.stock)
    if (!lot.carton.empty()) range_of[lot.carton] = lot.impressions;
  for (const auto& disc : family.discs) {
    if (disc.carton.empty() || !disc.impression) continue;
    const auto [at, fresh] = range_of.try_emplace(disc.carton, *disc.impression);
    at->second.first = std::min(at->second.first, disc.impression->first);
    at->second.last = std::max(at->second.last, disc.impression->last);
  }
  int count = 0;
  for (auto& remark : family.remarks) {
    if (!remark.disc.empty() || remark.carton.empty()) continue;
    const auto range = range_of.find(remark.carton);
    if (range == range_of.end()) continue;
    works::FamilyDisc disc;
    disc.id = fmt::format("a disc of {} ({})", remark.carton, ++count);
    disc.carton = remark.carton;
    disc.impression = range->second;
    remark.disc = disc.id;
    family.discs.push_back(std::move(disc));
  }
}

/// What most of its events are, and their middle values.
class Portrait {
 public:
  Portrait(const Recurring& one,
           const Coincidences& found,
           std::span<const works::HeardPlay> plays) {
    for (const int e : one.place.events) {
      const Event& event = found.events[static_cast<std::size_t>(e)];
      const auto& play = plays[static_cast<std::size_t>(event.play)];
      const auto& fault = play.faults[static_cast<std::size_t>(event.fault)];
      ++kinds_[fault.kind];
      ++audibilities_[fault.audibility];
      if (std::isfinite(fault.radius_m)) radii_.push_back(static_cast<double>(fault.radius_m));
      if (fault.pattern >= 0)
        for (const auto& pattern : play.patterns)
          if (pattern.id == fault.pattern) ++patterns_[pattern.kind];
      rpm_ = rpm_ > 0.0 ? rpm_ : play.rpm;
    }
  }
  void tell(const Recurring& one, works::RecurringFault& fault) {
    fault.kind = most(kinds_);
    fault.audibility = most(audibilities_);
    if (one.places.size() > 1)
      fault.pattern = patterns_.empty() ? works::PatternKind::radial : most(patterns_);
    if (!radii_.empty()) {
      std::nth_element(radii_.begin(),
                       radii_.begin() + static_cast<std::ptrdiff_t>(radii_.size() / 2),
                       radii_.end());
      fault.radius_m = radii_[radii_.size() / 2];
    }
    if (rpm_ > 0.0) {
      const double turns = fault.programme_s * rpm_ / 60.0;
      fault.revolution = static_cast<std::int64_t>(std::floor(turns));
      fault.angle_deg = 360.0 * (turns - std::floor(turns));
    }
  }

 private:
  template <class Key>
  static Key most(const std::map<Key, int>& counts) {
    Key best{};
    int highest = 0;
    for (const auto& [key, count] : counts)
      if (count > highest) {
        highest = count;
        best = key;
      }
    return best;
  }
  std::map<works::FaultKind, int> kinds_;
  std::map<works::Audibility, int> audibilities_;
  std::map<works::PatternKind, int> patterns_;
  std::vector<double> radii_;
  double rpm_{};
};

works::RecurringFault told(const works::Family& family,
                           std::span<const works::HeardPlay> plays,
                           const SideTrace& side,
                           const Recurring& one,
                           int id) {
  works::RecurringFault fault;
  fault.id = id;
  fault.side = side.index.side;
  fault.programme_s = one.place.programme_s;
  fault.programme_sigma_s = one.place.sigma_s;
  fault.places = static_cast<int>(one.places.size());
  Portrait{one, side.found, plays}.tell(one, fault);
  for (const int heard : one.why.on)
    fault.on.push_back(
        family
            .discs[static_cast<std::size_t>(side.index.heard[static_cast<std::size_t>(heard)].disc)]
            .id);
  fault.heard = one.why.heard;
  fault.detection = one.why.detection_mean();
  fault.chance = one.why.chance;
  const Touched touched{side.index, one.why};
  tell_causes(side.index, one.why, touched, fault);
  fault.suspect = suspects(family, side.index, one.why, touched);
  fault.next = next_acts(family, plays, side.index, one, touched, fault);
  fault.hearings_needed =
      hearings_needed(touched, fault.detection, closings_of(side.index, one.why));
  fault.action = action_for(side.index, one.why, fault, family.costs);
  return fault;
}

/// Open before ceased, plain before slight, more flawed discs before fewer.
bool worse(const works::RecurringFault& a, const works::RecurringFault& b) {
  if (a.open != b.open) return a.open;
  if (a.audibility != b.audibility) return a.audibility < b.audibility;
  return a.suspect.flawed > b.suspect.flawed;
}

}  // namespace

works::TraceReport trace(works::Family family,
                         std::vector<works::HeardPlay> plays,
                         std::vector<works::RefusedInput> refused,
                         const TraceOptions& options) {
  Usable input = usable(std::move(family), std::move(plays), std::move(refused));
  stand_for_cartons(input.family);
  works::TraceReport report;
  report.refused = std::move(input.refused);
  double chance = 0.0;
  std::vector<char> met(input.family.discs.size(), 0);
  for (const DiscSide side : {DiscSide::A, DiscSide::B}) {
    const SideTrace traced =
        trace_side(input.family, input.plays, side, options.false_discovery_rate, options.jobs);
    for (const HeardDisc& heard : traced.index.heard)
      if (!heard.plays.empty()) met[static_cast<std::size_t>(heard.disc)] = 1;
    const std::size_t before = report.recurring.size();
    report.recurring.resize(before + traced.recurring.size());
    in_parallel(traced.recurring.size(), options.jobs, [&](std::size_t i) {
      report.recurring[before + i] = told(
          input.family, input.plays, traced, traced.recurring[i], static_cast<int>(before + i) + 1);
    });
    chance += traced.false_share * static_cast<double>(traced.recurring.size());
  }
  report.false_discovery_rate =
      report.recurring.empty() ? 0.0 : chance / static_cast<double>(report.recurring.size());
  for (const char disc : met) report.discs_heard += disc;
  report.reports = static_cast<int>(input.plays.size());
  for (const auto& play : input.plays) report.faults += static_cast<int>(play.faults.size());
  std::stable_sort(report.recurring.begin(), report.recurring.end(), worse);
  for (std::size_t i = 0; i < report.recurring.size(); ++i) {
    auto& fault = report.recurring[i];
    fault.id = static_cast<int>(i) + 1;
    for (auto& act : fault.next) act.about = {fault.id};
  }
  report.next = next_of_all(report.recurring, input.family.costs);
  tell_spread(input.family, input.plays, options.jobs, report);
  return report;
}

}  // namespace goodside::trace
