#include "disc/fault_schedule.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace goodside::disc {
namespace {

using works::FaultKind;
using works::PlannedKind;

constexpr double scratch_jitter_deg = 0.05;
constexpr double spread_dB = 1.5;

struct Usual {
  FaultKind kind;
  double duration_s, peak_dB;
  int turns{1}, count{1};
  double span_deg{};
};

Usual usual(PlannedKind kind) {
  switch (kind) {
    case PlannedKind::tick:
      return {FaultKind::tick, 0.3e-3, -14.0};
    case PlannedKind::pop:
      return {FaultKind::pop, 3e-3, -8.0};
    case PlannedKind::burst:
      return {FaultKind::burst, 60e-3, -16.0};
    case PlannedKind::dropout:
      return {FaultKind::dropout, 40e-3, -20.0};
    case PlannedKind::jump:
      return {FaultKind::jump, 0.3e-3, -20.0};
    case PlannedKind::repeat:
    case PlannedKind::locked:
      return {FaultKind::repeat, 0.3e-3, -20.0};
    case PlannedKind::clip:
      return {FaultKind::clip, 0.3, -12.0};
    case PlannedKind::scratch:
      return {FaultKind::tick, 0.3e-3, -16.0, 8};
    case PlannedKind::arc:
      return {FaultKind::burst, 0.0, -24.0, 8, 1, 30.0};
    case PlannedKind::dirt:
      return {FaultKind::tick, 0.2e-3, -22.0, 2, 12, 90.0};
  }
  return {FaultKind::tick, 0.3e-3, -14.0};
}

bool is_seam(PlannedKind kind) {
  return kind == PlannedKind::jump || kind == PlannedKind::repeat || kind == PlannedKind::locked;
}

std::optional<works::PatternKind> pattern_of(PlannedKind kind) {
  if (kind == PlannedKind::scratch) return works::PatternKind::radial;
  if (kind == PlannedKind::arc) return works::PatternKind::arc;
  if (kind == PlannedKind::dirt) return works::PatternKind::scatter;
  return std::nullopt;
}

/// The plan with its open figures filled in.
works::FaultPlan filled(works::FaultPlan plan) {
  const Usual kind = usual(plan.kind);
  if (plan.turns == 0) plan.turns = kind.turns;
  if (plan.count == 0) plan.count = kind.count;
  if (plan.duration_s == 0.0) plan.duration_s = kind.duration_s;
  if (plan.span_deg == 0.0) plan.span_deg = kind.span_deg;
  if (!plan.peak_dB) plan.peak_dB = kind.peak_dB;
  return plan;
}

Outcome check(const works::FaultPlan& plan) {
  const bool sane = plan.turns >= 0 && plan.turns <= 1000 && plan.count >= 0 &&
                    plan.count <= 10000 && plan.duration_s >= 0.0 && plan.duration_s <= 60.0 &&
                    std::abs(plan.span_deg) <= 360.0 &&
                    std::abs(plan.peak_dB.value_or(0.0)) <= 120.0;
  if (sane) return Done{};
  return Error{Fault::out_of_range,
               "a fault takes up to 1000 turns, 10000 specks, 60 s, 360 degrees and -120 to 120 "
               "dB; check its figures"};
}

struct Spot {
  double programme_s, duration_s, peak_dB;
};

std::vector<Spot> spots_of(const works::FaultPlan& plan,
                           double first_s,
                           double turn_s,
                           stats::Draw& draw) {
  const double peak_dB = *plan.peak_dB;
  std::vector<Spot> spots;
  switch (plan.kind) {
    case PlannedKind::scratch:
      for (int turn = 0; turn < plan.turns; ++turn) {
        const double drift_deg = plan.turns > 1 ? plan.span_deg * turn / (plan.turns - 1) : 0.0;
        const double angle_deg = drift_deg + scratch_jitter_deg * draw.normal();
        spots.push_back({first_s + (turn + angle_deg / 360.0) * turn_s,
                         plan.duration_s,
                         peak_dB + spread_dB * draw.normal()});
      }
      break;
    case PlannedKind::arc: {
      const double share = std::abs(plan.span_deg) / 360.0;
      for (int turn = 0; turn < plan.turns; ++turn)
        spots.push_back({first_s + (turn + share / 2.0) * turn_s,
                         share * turn_s,
                         peak_dB + spread_dB * draw.normal()});
      break;
    }
    case PlannedKind::dirt:
      for (int speck = 0; speck < plan.count; ++speck) {
        const double turn = std::floor(draw.between(0.0, plan.turns));
        const double angle_deg = plan.span_deg * draw.uniform();
        const double duration_s = plan.duration_s * draw.between(0.5, 1.5);
        spots.push_back({first_s + (turn + angle_deg / 360.0) * turn_s,
                         duration_s,
                         peak_dB + 2.0 * spread_dB * draw.normal()});
      }
      break;
    default:
      spots.push_back({first_s, plan.duration_s, peak_dB});
  }
  return spots;
}

}  // namespace

Result<std::vector<FaultEvent>> fault_schedule(const works::PlayedSide& played,
                                               const Groove& groove,
                                               const PlayedPath& path) {
  const double clock = 1.0 + played.drive.clock_error_ppm * 1e-6;
  const auto truth_of = [&](std::size_t index, const Spot& spot, double time_s) {
    const works::FaultPlan& plan = played.faults[index];
    const GroovePlace place = groove.place(spot.programme_s);
    works::TrueFault truth;
    truth.kind = usual(plan.kind).kind;
    truth.capture_s = time_s * clock;
    truth.programme_s = spot.programme_s;
    truth.revolution = place.revolution;
    truth.angle_deg = place.angle_deg;
    truth.radius_m = place.radius_m;
    truth.duration_s = spot.duration_s;
    truth.peak_dB = spot.peak_dB;
    truth.channel = plan.channel;
    truth.plan = static_cast<int>(index);
    truth.pattern = pattern_of(plan.kind);
    return truth;
  };

  std::vector<FaultEvent> events;
  for (std::size_t k = 0; k < played.faults.size(); ++k) {
    if (const Outcome checked = check(played.faults[k]); !checked) return checked.error();
    if (is_seam(played.faults[k].kind)) continue;
    const works::FaultPlan plan = filled(played.faults[k]);
    const auto first_s = planned_programme_s(plan, groove);
    if (!first_s) return first_s.error();
    stats::Draw draw{played.seed, 1000 + k};
    for (const Spot& spot : spots_of(plan, *first_s, groove.turn_s(), draw)) {
      const stats::Draw own{draw.bits()};
      if (spot.programme_s < 0.0 || spot.programme_s >= groove.duration_s()) continue;
      for (const double time_s : path.times_s(spot.programme_s))
        events.emplace_back(plan.kind, truth_of(k, spot, time_s), time_s, own);
    }
  }
  for (std::size_t k = 1; k < path.stretches().size(); ++k) {
    const PlayedStretch& before = path.stretches()[k - 1];
    const PlayedStretch& after = path.stretches()[k];
    const auto index = static_cast<std::size_t>(after.plan);
    const works::FaultPlan plan = filled(played.faults[index]);
    works::TrueFault truth =
        truth_of(index, {before.programme_to_s, plan.duration_s, *plan.peak_dB}, after.from_s);
    truth.programme_jump_s = after.programme_from_s - before.programme_to_s;
    events.emplace_back(plan.kind, truth, after.from_s, stats::Draw{played.seed, 1000 + index});
  }
  std::stable_sort(events.begin(), events.end(), [](const FaultEvent& a, const FaultEvent& b) {
    return a.from_s() < b.from_s();
  });
  return events;
}

}  // namespace goodside::disc
