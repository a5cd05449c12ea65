#include "listen/crackle_line.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

constexpr double censored_share = 0.05;  // of the upper tail, left to the faults
constexpr std::size_t least_for_a_fit = 25;

struct Tail {
  double from_dB, scale_dB, count;
  double severity_where_dB(double expected) const {
    return from_dB + scale_dB * std::log(std::max(count / expected, 1.0));
  }
};

/// Fitted twice: first with the top censored, then with what stands over that first line set aside
/// as faults, save the share of it that the background is expected to hold.
Tail fit_tail(std::span<const CrackleEvent> events, const CrackleSearch& search) {
  std::vector<double> severities_dB;
  severities_dB.reserve(events.size());
  for (const auto& event : events) severities_dB.push_back(event.severity_dB);
  std::sort(severities_dB.begin(), severities_dB.end());
  const auto n = static_cast<double>(severities_dB.size());
  const auto first = static_cast<std::size_t>((1.0 - search.upper_share) * n);
  const double from_dB = severities_dB[first];
  const double count = n - static_cast<double>(first);
  const auto fit = [&](std::size_t kept_end, double censored, double censored_at_dB) {
    double excess_dB = censored * (censored_at_dB - from_dB);
    for (std::size_t i = first; i < kept_end; ++i) excess_dB += severities_dB[i] - from_dB;
    // The event that sets the threshold says nothing about the scale.
    const auto kept = static_cast<double>(kept_end - first);
    return Tail{from_dB, excess_dB / (kept - 1.0), kept + censored};
  };
  const double censored = std::floor(censored_share * count);
  const std::size_t rough_end = severities_dB.size() - static_cast<std::size_t>(censored);
  const Tail rough = fit(rough_end, censored, severities_dB[rough_end - 1]);
  if (rough.scale_dB <= 0.0) return rough;  // all alike: no tail to fit again
  const double rough_line_dB = rough.severity_where_dB(search.false_faults);
  const auto over = std::lower_bound(severities_dB.begin(), severities_dB.end(), rough_line_dB);
  const double background_over =
      std::min(search.false_faults, static_cast<double>(severities_dB.end() - over));
  const auto kept_end = static_cast<std::size_t>(over - severities_dB.begin());
  return fit(kept_end, background_over, rough_line_dB);
}

/// Whether an event over a line lies at the same angle some turns on or back.
class Kin {
 public:
  Kin(std::span<const CrackleEvent> events, double reach_turns)
      : events_{events}, reach_turns_{reach_turns} {
    for (std::size_t i = 0; i < events.size(); ++i)
      if (events[i].turn) order_.push_back(i);
    std::sort(order_.begin(), order_.end(), [&](std::size_t a, std::size_t b) {
      return *events[a].turn != *events[b].turn ? *events[a].turn < *events[b].turn : a < b;
    });
  }

  bool has(std::size_t i, double turns_on, double line_dB) const {
    if (!events_[i].turn) return false;
    const double from = *events_[i].turn + turns_on - reach_turns_;
    const double to = from + 2.0 * reach_turns_;
    auto place = std::lower_bound(
        order_.begin(), order_.end(), from, [this](std::size_t event, double turn) {
          return *events_[event].turn < turn;
        });
    for (; place != order_.end() && *events_[*place].turn <= to; ++place)
      if (events_[*place].severity_dB >= line_dB) return true;
    return false;
  }

 private:
  std::span<const CrackleEvent> events_;
  double reach_turns_;
  std::vector<std::size_t> order_;
};

bool excused_by_kin(const Kin& kin, std::size_t i, double severity_dB, const CrackleLine& line) {
  const double pair_dB = line.pair_line_dB, three_dB = line.three_line_dB;
  if (severity_dB < three_dB) return false;
  if (severity_dB >= pair_dB && (kin.has(i, 1.0, pair_dB) || kin.has(i, -1.0, pair_dB)))
    return true;
  const bool before = kin.has(i, -1.0, three_dB), after = kin.has(i, 1.0, three_dB);
  return (before && after) || (before && kin.has(i, -2.0, three_dB)) ||
         (after && kin.has(i, 2.0, three_dB));
}

}  // namespace

CrackleLine crackle_line(std::span<const CrackleEvent> events,
                         double heard_s,
                         double rpm,
                         const CrackleSearch& search) {
  EXPECTS(heard_s > 0.0 && rpm > 0.0);
  for (const auto& event : events) EXPECTS(std::isfinite(event.severity_dB));
  CrackleLine result;
  result.is_crackle.assign(events.size(), 0);
  result.rate_per_min = static_cast<double>(events.size()) * 60.0 / heard_s;
  if (result.rate_per_min <= search.least_rate_per_min || events.size() < least_for_a_fit)
    return result;
  result.applied = true;

  const Tail tail = fit_tail(events, search);
  const double turns = std::max(1.0, heard_s * rpm / 60.0);
  const double scarcity = turns * 360.0 / (2.0 * search.kin_deg);  // N / w
  const double pairs = search.kin_false_faults / 2.0, threes = search.kin_false_faults / 3.0;
  result.scale_dB = tail.scale_dB;
  result.line_dB = tail.severity_where_dB(search.false_faults);
  result.pair_line_dB =
      std::min(result.line_dB, tail.severity_where_dB(std::sqrt(pairs * scarcity)));
  result.three_line_dB = std::min(result.pair_line_dB,
                                  tail.severity_where_dB(std::cbrt(threes * scarcity * scarcity)));

  const Kin kin{events, search.kin_deg / 360.0};
  for (std::size_t i = 0; i < events.size(); ++i) {
    const double severity_dB = events[i].severity_dB;
    if (severity_dB >= result.line_dB || excused_by_kin(kin, i, severity_dB, result)) continue;
    result.is_crackle[i] = 1;
    ++result.crackle_count;
  }
  return result;
}

}  // namespace goodside::listen
