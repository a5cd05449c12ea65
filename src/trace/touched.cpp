#include "trace/touched.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace goodside::trace {
namespace {

/// Pieces cut at each other's ends and laid over each other: in order, apart.
std::vector<Piece> laid_flat(const std::vector<Piece>& pieces) {
  std::vector<std::pair<std::int64_t, double>> turns;  // from here on, this much more an impression
  for (const Piece& piece : pieces) {
    if (piece.mass <= 0.0) continue;
    const double each = piece.mass / static_cast<double>(piece.high - piece.low + 1);
    turns.emplace_back(piece.low, each);
    turns.emplace_back(piece.high + 1, -each);
  }
  std::sort(turns.begin(), turns.end());
  std::vector<Piece> flat;
  double each = 0.0;
  int open = 0;
  for (std::size_t i = 0; i < turns.size();) {
    const std::int64_t here = turns[i].first;
    for (; i < turns.size() && turns[i].first == here; ++i) {
      each += turns[i].second;
      open += turns[i].second > 0.0 ? 1 : -1;
    }
    if (open == 0) each = 0.0;
    if (i < turns.size() && open > 0 && each > 0.0)
      flat.push_back({here, turns[i].first - 1, each * static_cast<double>(turns[i].first - here)});
  }
  return flat;
}

}  // namespace

double closings_of(const FamilyIndex& index, const Attribution& why) {
  const auto of = [&](int unit) {
    double sum = 0.0;
    for (const Segment& run : index.units[static_cast<std::size_t>(unit)].segments)
      sum += static_cast<double>(run.latest - run.earliest + 1);
    return sum;
  };
  if (!why.causes.empty() && why.causes.front().level == Level::stamper)
    return of(why.causes.front().number);
  double sum = 0.0;
  for (int u = 0; u < index.stampers; ++u) sum += of(u);
  return index.stampers > 0 ? sum / index.stampers : 1.0;
}

UnitNames::UnitNames(const FamilyIndex& index) : index_{index} {
  for (std::size_t u = 0; u < index.units.size(); ++u)
    by_name_[static_cast<std::size_t>(index.units[u].level)].emplace(index.units[u].id,
                                                                     static_cast<int>(u));
}

int UnitNames::find(Level level, const std::string& id) const {
  const auto& names = by_name_[static_cast<std::size_t>(level)];
  const auto found = names.find(id);
  return found == names.end() ? -1 : found->second;
}

WhichDisc UnitNames::which(const works::FamilyDisc& disc, works::DiscSide side) const {
  WhichDisc one{.units = {}, .impression = disc.impression};
  for (const int unit : {find(Level::stamper, disc.stamper_of(side)),
                         find(Level::mounting, disc.mounting),
                         find(Level::press, disc.press),
                         find(Level::batch, disc.batch)})
    if (unit >= 0) one.units.push_back(unit);
  return one;
}

WhichDisc UnitNames::which(const works::Impressions& range) const {
  WhichDisc one{.units = {}, .impression = range};
  for (std::size_t u = 0; u < index_.units.size(); ++u) {
    const Unit& unit = index_.units[u];
    if (unit.level == Level::press || unit.level == Level::batch) continue;
    for (const Segment& run : unit.segments)
      if (range.first <= run.latest && range.last >= run.earliest) {
        one.units.push_back(static_cast<int>(u));
        break;
      }
  }
  return one;
}

double Touched::Steps::upto(double impression) const {
  const auto next =
      std::upper_bound(pieces.begin(), pieces.end(), impression, [](double at, const Piece& piece) {
        return at < static_cast<double>(piece.low);
      });
  if (next == pieces.begin()) return 0.0;
  const auto i = static_cast<std::size_t>(next - pieces.begin()) - 1;
  const double width = static_cast<double>(pieces[i].high - pieces[i].low + 1);
  const double inside = (impression - static_cast<double>(pieces[i].low) + 1.0) / width;
  return posterior * (below[i] + pieces[i].mass * std::clamp(inside, 0.0, 1.0));
}

double Touched::Steps::mean_upto(double low, double high) const {
  if (high <= low) return upto(low);
  constexpr int points = 9;
  double sum = 0.0;
  for (int i = 0; i < points; ++i) sum += upto(low + (high - low) * (i + 0.5) / points);
  return sum / points;
}

Touched::Steps Touched::steps_of(std::vector<Piece> pieces, double posterior) {
  Steps steps{.posterior = posterior, .pieces = laid_flat(pieces), .below = {}};
  double below = 0.0;
  for (const Piece& piece : steps.pieces) {
    steps.below.push_back(below);
    below += piece.mass;
  }
  return steps;
}

Touched::Touched(const FamilyIndex& index, const Attribution& why)
    : index_{index}, parents_(static_cast<std::size_t>(index.stampers), 0.0) {
  for (const Weighed& cause : why.causes) {
    const bool unit = cause.level >= Level::stamper;
    if (unit) {
      units_[cause.number] = {steps_of(cause.onset, cause.posterior),
                              steps_of(cause.end, cause.posterior)};
    } else {
      const Grower& part = index.growers[static_cast<std::size_t>(cause.number)];
      for (std::size_t c = 0; c < part.children.size(); ++c) {
        const double probability = cause.posterior * cause.child[c];
        if (part.children[c] < 0)
          parents_[static_cast<std::size_t>(-1 - part.children[c])] += probability;
        else
          go_down(part.children[c], probability);
      }
    }
    for (Piece piece : onset_of(cause)) {
      piece.mass *= cause.posterior;
      onset_.push_back(piece);
    }
  }
}

void Touched::go_down(int grower, double probability) {
  for (const int child : index_.growers[static_cast<std::size_t>(grower)].children)
    if (child < 0)
      parents_[static_cast<std::size_t>(-1 - child)] += probability;
    else
      go_down(child, probability);
}

Piece Touched::first_of(int child) const {
  if (child < 0) {
    const auto& run = index_.units[static_cast<std::size_t>(-1 - child)].segments.front();
    return {run.told ? run.first : run.earliest, run.first, 1.0};
  }
  Piece first{std::numeric_limits<std::int64_t>::max(), 0, 1.0};
  for (const int next : index_.growers[static_cast<std::size_t>(child)].children)
    if (const Piece one = first_of(next); one.low < first.low) first = one;
  return first;
}

std::vector<Piece> Touched::onset_of(const Weighed& cause) const {
  if (cause.level >= Level::stamper) return cause.onset;
  std::vector<Piece> pieces;
  const Grower& part = index_.growers[static_cast<std::size_t>(cause.number)];
  // The first child touched need not be the first pressed from.
  for (std::size_t c = 0; c < part.children.size(); ++c) {
    Piece first{std::numeric_limits<std::int64_t>::max(), 0, 1.0};
    for (std::size_t later = c; later < part.children.size(); ++later)
      if (const Piece one = first_of(part.children[later]); one.low < first.low) first = one;
    first.mass = cause.first_child[c];
    if (first.mass > 1e-9 && first.high >= first.low) pieces.push_back(first);
  }
  return pieces;
}

double Touched::of_unit(int unit, std::int64_t impression) const {
  const auto found = units_.find(unit);
  if (found == units_.end()) return 0.0;
  const auto at = static_cast<double>(impression);
  return std::max(0.0, found->second.onset.upto(at) - found->second.end.upto(at));
}

double Touched::probability(const WhichDisc& disc) const {
  double sum = 0.0, stampers = 0.0, through = 0.0;
  double low = 0.0, high = 0.0;
  if (disc.impression) {
    low = static_cast<double>(disc.impression->first);
    high = static_cast<double>(disc.impression->last);
  }
  int of_stampers = 0;
  for (const int u : disc.units)
    of_stampers += index_.units[static_cast<std::size_t>(u)].level == Level::stamper ? 1 : 0;
  for (const int u : disc.units) {
    const Unit& unit = index_.units[static_cast<std::size_t>(u)];
    // Of several stampers that it may be from, each as likely.
    const double share =
        of_stampers > 1 && (unit.level == Level::stamper || unit.level == Level::mounting)
            ? 1.0 / of_stampers
            : 1.0;
    if (unit.level == Level::stamper) {
      stampers += 1.0;
      through += share * parents_[static_cast<std::size_t>(u)];
    }
    const auto found = units_.find(u);
    if (found == units_.end()) continue;
    const double from = disc.impression ? low : static_cast<double>(unit.from());
    const double to = disc.impression ? high : static_cast<double>(unit.to());
    sum += share * std::max(0.0,
                            found->second.onset.mean_upto(from, to) -
                                found->second.end.mean_upto(from, to));
  }
  return std::clamp(sum + through, 0.0, 1.0);
}

works::CredibleImpressions credible(const std::vector<Piece>& pieces, double share, double scale) {
  const auto flat = laid_flat(pieces);
  if (flat.empty()) return {};
  const auto each = [&](std::size_t i) {
    return flat[i].mass / static_cast<double>(flat[i].high - flat[i].low + 1);
  };
  double all = 0.0;
  for (const Piece& piece : flat) all += piece.mass;
  const auto quantile = [&](double wanted) {
    double sum = 0.0;
    for (std::size_t i = 0; i < flat.size(); ++i) {
      if (sum + flat[i].mass < wanted) {
        sum += flat[i].mass;
        continue;
      }
      const auto more = static_cast<std::int64_t>(std::ceil((wanted - sum) / each(i) - 1e-9));
      return std::min(flat[i].low + std::max<std::int64_t>(more, 1) - 1, flat[i].high);
    }
    return flat.back().high;
  };
  const double tail = 0.5 * (1.0 - share) * all;
  works::CredibleImpressions best{quantile(tail), quantile(all - tail), 0};
  // The window that holds most: its ends or middle lie at a piece's end.
  const auto half = static_cast<std::int64_t>(std::max(0.0, std::floor(0.01 * scale)));
  std::vector<double> below{0.0};
  for (const Piece& piece : flat) below.push_back(below.back() + piece.mass);
  const auto upto = [&](std::int64_t at) {
    const auto next = std::upper_bound(
        flat.begin(), flat.end(), at, [](std::int64_t a, const Piece& p) { return a < p.low; });
    if (next == flat.begin()) return 0.0;
    const auto i = static_cast<std::size_t>(next - flat.begin()) - 1;
    return below[i] + each(i) * static_cast<double>(std::min(at, flat[i].high) - flat[i].low + 1);
  };
  double most = -1.0;
  std::int64_t centre_of_most = best.low;
  std::vector<std::int64_t> centres{best.low, best.high};
  for (const Piece& piece : flat)
    for (const std::int64_t at : {piece.low, piece.high})
      for (const std::int64_t centre : {at - half, at, at + half}) centres.push_back(centre);
  std::sort(centres.begin(), centres.end());
  for (const std::int64_t centre : centres) {
    const double mass = upto(centre + half) - upto(centre - half - 1);
    if (mass <= most * (1.0 + 1e-9)) continue;
    most = mass;
    centre_of_most = centre;
  }
  // In it the median, so that a window wider than what is left open does not lean to one side.
  const double before = upto(centre_of_most - half - 1);
  std::int64_t low = centre_of_most - half, high = centre_of_most + half;
  while (low < high) {
    const std::int64_t middle = low + (high - low) / 2;
    if (upto(middle) - before >= 0.5 * most)
      high = middle;
    else
      low = middle + 1;
  }
  best.best = std::clamp(low, best.low, best.high);
  return best;
}

}  // namespace goodside::trace
