#include "listen/dust.hpp"

#include <algorithm>
#include <cstddef>

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

using works::After;
using works::Showing;

constexpr double prior_looks = 10.0;
constexpr double plain_prior = 0.97, slight_prior = 0.8;
constexpr double there_at_first = 0.8;
constexpr double decided = 0.9;

bool cleans(After after) {
  return after == After::brushed || after == After::washed;
}

/// True where the fault must have been there in play `p`: found before and after it, or just before
/// it with no cleaning between.
bool must_be_there(const MatchedPlace& place, std::span<const After> after, std::size_t p) {
  const auto found = [&](std::size_t k) { return place.plays[k] == Showing::found; };
  bool before = false, later = false;
  for (std::size_t k = 0; k < p; ++k) before = before || found(k);
  for (std::size_t k = p + 1; k < after.size(); ++k) later = later || found(k);
  return (before && later) || (p > 0 && found(p - 1) && !cleans(after[p]));
}

bool is_plain(const MatchedPlace& place, std::span<const works::ListeningReport> plays) {
  for (std::size_t p = 0; p < plays.size(); ++p)
    if (place.fault[p] && plays[p].faults[*place.fault[p]].audibility == works::Audibility::plain)
      return true;
  return false;
}

struct Looks {
  int found{}, all{};
  [[nodiscard]] double mean(double prior) const {
    return (prior * prior_looks + found) / (prior_looks + all);
  }
};

/// How likely what one play showed is, where the fault is there or not.
double showing_chance(const Sightings& seen, std::size_t p, bool there) {
  if (seen.plays[p] == Showing::not_heard) return 1.0;
  const double stranger = seen.coincidence[p];
  const double finds = there ? 1.0 - (1.0 - seen.detection) * (1.0 - stranger) : stranger;
  return seen.plays[p] == Showing::found ? finds : 1.0 - finds;
}

/// Likelihood of all plays for a speck that came just before play `first`.
double speck_chance(const Sightings& seen, std::size_t first) {
  double there = 1.0, gone = 0.0;
  for (std::size_t p = 0; p < first; ++p) there *= showing_chance(seen, p, false);
  for (std::size_t p = first; p < seen.plays.size(); ++p) {
    if (p > first) {
      const double goes = removal_chance(seen.after[p]);
      gone += there * goes;
      there *= 1.0 - goes;
    }
    there *= showing_chance(seen, p, true);
    gone *= showing_chance(seen, p, false);
  }
  return there + gone;
}

}  // namespace

double removal_chance(After after) {
  switch (after) {
    case After::brushed:
      return 0.9;
    case After::washed:
      return 0.97;
    case After::as_found:
    case After::reseated:
      break;
  }
  return 0.1;
}

works::Detection detection(const Matched& matched,
                           std::span<const works::ListeningReport> plays,
                           std::span<const After> after) {
  EXPECTS(plays.size() == after.size());
  Looks plain, slight;
  for (const auto& place : matched.places) {
    Looks& looks = is_plain(place, plays) ? plain : slight;
    for (std::size_t p = 0; p < plays.size(); ++p) {
      if (place.plays[p] == Showing::not_heard || !must_be_there(place, after, p)) continue;
      ++looks.all;
      if (place.plays[p] == Showing::found) ++looks.found;
    }
  }
  return {.plain = plain.mean(plain_prior),
          .slight = slight.mean(slight_prior),
          .plain_trials = plain.all,
          .slight_trials = slight.all};
}

double disc_probability(const Sightings& seen) {
  const std::size_t plays = seen.plays.size();
  EXPECTS(plays > 0 && seen.after.size() == plays && seen.coincidence.size() == plays);
  EXPECTS(seen.detection > 0.0 && seen.detection < 1.0);
  EXPECTS(seen.disc_prior > 0.0 && seen.disc_prior < 1.0);
  double disc = seen.disc_prior;
  for (std::size_t p = 0; p < plays; ++p) disc *= showing_chance(seen, p, true);
  double dust = 0.0;
  for (std::size_t first = 0; first < plays; ++first) {
    const double share = plays == 1   ? 1.0
                         : first == 0 ? there_at_first
                                      : (1.0 - there_at_first) / static_cast<double>(plays - 1);
    dust += (1.0 - seen.disc_prior) * share * speck_chance(seen, first);
  }
  return disc / (disc + dust);
}

works::Owner owner_of(double disc_probability) {
  if (disc_probability >= decided) return works::Owner::disc;
  if (disc_probability <= 1.0 - decided) return works::Owner::dust;
  return works::Owner::undecided;
}

}  // namespace goodside::listen
