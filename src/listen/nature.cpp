#include "listen/nature.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "base/expects.hpp"
#include "listen/chance.hpp"

namespace goodside::listen {
namespace {

using works::FaultEvent;
using works::FaultKind;
using works::Nature;
using works::Pattern;
using works::PatternKind;

constexpr double beside_s = 25e-3;
constexpr double before_s = 2e-3, after_s = 5e-3;  // what an event itself may colour
constexpr double turn_window_s = 12e-3;            // about its angle a turn on
constexpr double sure = 2.302585092994046;         // ln 10
constexpr double most_a_turn = 4.0;                // of log odds: turns agree only so far
constexpr double arc_deg = 15.0;

double normal_density(double x, double sigma) {
  return std::exp(-0.5 * (x / sigma) * (x / sigma)) / (sigma * std::sqrt(2.0 * std::numbers::pi));
}

/// Density of the ground where nothing is torn: quiet, or raised by something else.
double untorn_density(double quiet, double stray_share, const NatureRule& rule) {
  return (1.0 - stray_share) * quiet + stray_share / rule.stray_dB;
}

/// A place looked at, and how often one that is not torn is raised.
struct Place {
  Raised ground;
  double stray_share;
};

double lift_odds(double lift_dB, double sigma_dB, double stray_share, const NatureRule& rule) {
  const double quiet = normal_density(lift_dB, sigma_dB);
  const double lifted = exponential_plus_normal_density(lift_dB, rule.lift_mean_dB, sigma_dB);
  // Far under the surroundings neither is likely: the stray share keeps the odds near even.
  const double torn =
      rule.covered * lifted + (1.0 - rule.covered) * quiet + stray_share / rule.stray_dB;
  return std::log(torn / untorn_density(quiet, stray_share, rule));
}

double around_odds(const std::vector<Place>& places, const NatureRule& rule) {
  double highest = -std::numeric_limits<double>::max();
  std::array<double, 6> odds{};
  for (std::size_t h = 0; h < odds.size(); ++h) {
    const std::size_t left = h < 3 ? 0 : 2, right = left + 1;
    const std::size_t walls = h % 3;
    for (const auto& [ground, stray_share] : places) {
      const auto& lift_dB = ground.by_dB;
      const auto& sigma_dB = ground.sigma_dB;
      const std::array<float, 3> by_dB{
          lift_dB[left], lift_dB[right], 0.5F * (lift_dB[left] + lift_dB[right])};
      const std::array<float, 3> within_dB{
          sigma_dB[left], sigma_dB[right], 0.5F * (sigma_dB[left] + sigma_dB[right])};
      odds[h] += lift_odds(static_cast<double>(by_dB[walls]),
                           static_cast<double>(within_dB[walls]),
                           stray_share,
                           rule);
    }
    highest = std::max(highest, odds[h]);
  }
  double sum = 0.0;
  for (const double one : odds) sum += std::exp(one - highest);
  return highest + std::log(sum / static_cast<double>(odds.size()));
}

double inside_odds(const NatureEvent& event, const NatureRule& rule) {
  if (event.duration_s < rule.lasting_s) return std::log(rule.brief_if_torn / rule.brief_if_dirt);
  const double lasting = std::log((1.0 - rule.brief_if_torn) / (1.0 - rule.brief_if_dirt));
  const double torn_dB = std::max(0.0, event.mean_dB - rule.torn_gap_dB);
  const double torn = normal_density(event.ground_dB - torn_dB, rule.torn_gap_sigma_dB);
  const double specks =
      untorn_density(normal_density(event.ground_dB, rule.speck_sigma_dB), rule.crowded, rule);
  return std::clamp(lasting + std::log((torn + 1e-6) / specks), -most_a_turn, most_a_turn);
}

bool may_be_named(const FaultEvent& fault) {
  return fault.kind == FaultKind::tick || fault.kind == FaultKind::pop ||
         fault.kind == FaultKind::burst;
}

void put(const NatureTold& told,
         std::optional<Nature>& nature,
         std::optional<double>& probability) {
  nature = told.nature;
  probability = told.probability;
}

/// Sum over turns of the members' mean, each turn held within bounds.
double pattern_odds(const Pattern& pattern,
                    const std::map<int, std::size_t>& place,
                    std::span<const FaultEvent> faults,
                    std::span<const NatureOdds> odds) {
  struct Turn {
    double sum{};
    int count{};
  };
  std::map<std::int64_t, Turn> turns;
  for (const int id : pattern.faults) {
    const std::size_t i = place.at(id);
    Turn& turn = turns[faults[i].revolution.value_or(0)];
    turn.sum += odds[i].sum();
    ++turn.count;
  }
  double sum = 0.0;
  for (const auto& [number, turn] : turns)
    sum += std::clamp(turn.sum / turn.count, -most_a_turn, most_a_turn);
  return sum;
}

}  // namespace

NatureOdds nature_odds(const NatureEvent& event,
                       const GrooveGround& ground,
                       double turn_s,
                       const NatureRule& rule) {
  EXPECTS(turn_s > 0.0 && event.duration_s >= 0.0);
  const double from_s = event.programme_s, to_s = event.programme_s + event.duration_s;
  const auto groove = ground.around(from_s);
  if (!groove) return {inside_odds(event, rule), 0.0};
  std::vector<Place> places;
  const auto look = [&](const GrooveGround::Window& window, double stray_share) {
    if (const auto raised = ground.raised(window, *groove))
      places.push_back({*raised, stray_share});
  };
  look({from_s - beside_s, to_s + beside_s, from_s - before_s, to_s + after_s}, rule.crowded);
  for (const double turns : {-2.0, -1.0, 1.0, 2.0})
    look({from_s + turns * turn_s - turn_window_s, to_s + turns * turn_s + turn_window_s},
         rule.stray);
  return {inside_odds(event, rule), places.empty() ? 0.0 : around_odds(places, rule)};
}

void set_aside_if_brief(const NatureEvent& event, GrooveGround& ground, const NatureRule& rule) {
  if (event.duration_s < rule.lasting_s)
    ground.set_aside(event.programme_s - before_s, event.programme_s + event.duration_s + after_s);
}

NatureTold told(double log_odds, const NatureRule& rule) {
  if (std::abs(log_odds) < std::log(rule.told_odds)) return {};
  // Four figures are written: nothing is certain.
  const double probability = std::min(0.9999, 1.0 / (1.0 + std::exp(-std::abs(log_odds))));
  return {log_odds > 0.0 ? Nature::non_fill : Nature::dirt, probability};
}

void rename_by_nature(std::span<FaultEvent> faults, std::span<const NatureOdds> odds) {
  EXPECTS(faults.size() == odds.size());
  for (std::size_t i = 0; i < faults.size(); ++i) {
    if (!may_be_named(faults[i])) continue;
    if (odds[i].sum() > sure && odds[i].around > 0.0) faults[i].nature = Nature::non_fill;
    if (odds[i].sum() > sure && odds[i].around > sure) faults[i].kind = FaultKind::burst;
    if (faults[i].kind == FaultKind::burst && odds[i].inside < 0.0 && odds[i].sum() < -sure)
      faults[i].kind = FaultKind::tick;
  }
}

void tell_natures(std::span<FaultEvent> faults,
                  std::span<const NatureOdds> odds,
                  std::vector<Pattern>& patterns,
                  const NatureRule& rule) {
  EXPECTS(faults.size() == odds.size());
  std::map<int, std::size_t> place;
  for (std::size_t i = 0; i < faults.size(); ++i) {
    place[faults[i].id] = i;
    faults[i].nature = std::nullopt;
    if (!may_be_named(faults[i]) || faults[i].pattern) continue;
    NatureTold alone =
        told(odds[i].sum() + std::log(rule.alone_if_torn / rule.alone_if_dirt), rule);
    // One impulse is no tear, whatever lies beside it.
    if (alone.nature == Nature::non_fill && faults[i].duration_s < rule.lasting_s) {
      alone = {};
      faults[i].kind = FaultKind::tick;
    }
    put(alone, faults[i].nature, faults[i].nature_probability);
  }
  for (Pattern& pattern : patterns) {
    if (pattern.kind == PatternKind::radial || pattern.kind == PatternKind::echo) continue;
    const NatureTold named = told(pattern_odds(pattern, place, faults, odds), rule);
    put(named, pattern.nature, pattern.nature_probability);
    if (!named.nature) continue;
    const bool torn = *named.nature == Nature::non_fill;
    if (torn && pattern.kind == PatternKind::scatter)
      pattern.kind =
          pattern.angle_span_deg.value_or(0.0) >= arc_deg ? PatternKind::arc : PatternKind::patch;
    if (!torn) pattern.kind = PatternKind::scatter;
    for (const int id : pattern.faults) {
      const std::size_t i = place.at(id);
      if (!may_be_named(faults[i])) continue;
      put(named, faults[i].nature, faults[i].nature_probability);
      if (torn) faults[i].kind = FaultKind::burst;
      if (!torn && faults[i].kind == FaultKind::burst && odds[i].sum() < 0.0)
        faults[i].kind = FaultKind::tick;
    }
  }
}

}  // namespace goodside::listen
