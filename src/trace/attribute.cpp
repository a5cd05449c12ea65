#include "trace/attribute.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <numbers>
#include <numeric>
#include <unordered_map>
#include <utility>

#include "base/expects.hpp"
#include "trace/detectability.hpp"
#include "trace/learn_beliefs.hpp"
#include "trace/range_scan.hpp"

namespace goodside::trace {
namespace {

constexpr double nothing = -std::numeric_limits<double>::infinity();
constexpr double mistaken = 0.004;   ///< a disc that is not what its label says
constexpr double tail_share = 0.07;  ///< of times that are three times as far off
constexpr double own_share = 0.5;    ///< of stray faults that are pressed in, not dust
constexpr double again = 0.85;       ///< that a stray fault is found in another play
constexpr double left_by_brush = 0.4, left_by_wash = 0.15;  ///< of dust
constexpr double spoken_of = 0.3;  ///< that what was said is of this fault, where there is one
constexpr double usual_above_dB = 5.0;
constexpr double least_posterior = 1e-5;

double normal(double off, double sigma) {
  const double u = off / sigma;
  return std::exp(-0.5 * u * u) / (sigma * std::sqrt(2.0 * std::numbers::pi));
}

double place_density(double off, double sigma) {
  return (1.0 - tail_share) * normal(off, sigma) + tail_share * normal(off, 3.0 * sigma);
}

bool heard_at(const works::HeardPlay& play, double programme_s) {
  return play.heard.empty() || std::ranges::any_of(play.heard, [&](const auto& part) {
           return programme_s >= part.from_s && programme_s <= part.to_s;
         });
}

/// What became of a disc's find.
enum class Standing { stands, was_dust, said };

/// One play that heard the place.
struct Look {
  const Event* event{};  ///< what it found; null: nothing
  double sigma_s{};
  works::After after{};
  double alike{};  ///< log of how much likelier it sounds as one of the others than as a stray
};

/// How much of the dust that lay there is left when a play begins.
double dust_left(works::After after) {
  if (after == works::After::brushed) return left_by_brush;
  return after == works::After::washed ? left_by_wash : 1.0;
}

/// log of the density of a disc's finds where it has no part in the fault: its own pressed-in
/// fault, a grain of dust, or a stranger in each play.
double stray(std::span<const Look> looks, double rate_per_s) {
  const auto first =
      std::ranges::find_if(looks, [](const Look& one) { return one.event != nullptr; });
  if (first == looks.end()) return 0.0;
  double own = own_share, dust = 1.0 - own_share, strangers = 1.0, left = 1.0;
  bool several = false;
  for (auto look = looks.begin(); look != looks.end(); ++look) {
    if (look < first) own *= 1.0 - again;
    if (look <= first) continue;
    left *= dust_left(look->after);
    if (look->event == nullptr) {
      own *= 1.0 - again;
      dust *= 1.0 - again * left;
      continue;
    }
    const double together = normal(look->event->programme_s - first->event->programme_s,
                                   std::hypot(look->sigma_s, first->sigma_s));
    own *= again * together;
    dust *= again * left * together;
    strangers *= rate_per_s;
    several = true;
  }
  return std::log(rate_per_s) + std::log(own + dust + (several ? strangers : 0.0));
}

/// A find that a later cleaned play does not show was dust, whatever the odds.
bool stands(std::span<const Look> looks) {
  bool found = false;
  for (const Look& look : looks) {
    const bool cleaned = look.after == works::After::brushed || look.after == works::After::washed;
    if (look.event != nullptr)
      found = true;
    else if (cleaned)
      found = false;
  }
  return found;
}

ByDetection disc_ratio(std::span<const Look> looks, double programme_s, double rate_per_s) {
  const double alone = stray(looks, rate_per_s);
  ByDetection ratio{};
  for (std::size_t p = 0; p < detection_count; ++p) {
    double log_touched = 0.0;
    for (const Look& look : looks)
      log_touched +=
          look.event == nullptr
              ? std::log(1.0 - detections[p])
              : std::log(detections[p] * std::exp(look.alike) *
                             place_density(look.event->programme_s - programme_s, look.sigma_s) +
                         (1.0 - detections[p]) * rate_per_s);
    ratio[p] = touched_with(1.0 - mistaken, log_touched - alone);
  }
  return ratio;
}

}  // namespace

/// What the discs say of one candidate: finds by disc; what is not listed was not found, where it
/// was heard.
struct Attributor::Evidence {
  double programme_s{};
  double log_place{};  ///< of integrating the place out
  double above_dB{};  ///< of the finds, over what is still listed
  std::vector<int> discs{};  ///< heard discs with a find or a remark, rising
  std::vector<ByDetection> ratio{};
  std::vector<Standing> found{};

  [[nodiscard]] int find(int heard) const {
    const auto at = std::lower_bound(discs.begin(), discs.end(), heard);
    return at == discs.end() || *at != heard ? -1 : static_cast<int>(at - discs.begin());
  }
};

struct Attributor::Node {
  bool unit{};
  int number{};
  Level level{};
  ByDetection log_evidence{};  ///< prior of the node included, that of detection too
  std::vector<std::vector<double>> from{}, upto{};  ///< by detection
  std::size_t blocks{1};
  std::vector<std::vector<double>> together{};  ///< by detection; empty: nought
  std::size_t first{};                          ///< cell of a unit's axis that from[0] is of
  /// By kind of end; of a window, what lies behind it in the last. Empty: the axis's.
  std::vector<std::vector<double>> end_mass{};

  /// Of a unit: with its axis.
  [[nodiscard]] Range range(const Axis& axis, std::size_t p, std::size_t kind) const {
    const std::size_t cells = from[p].size();
    return {.onset = std::span{axis.onset_mass}.subspan(first, cells),
            .end = end_mass.empty() ? std::span<const double>{axis.ends[kind].mass} : end_mass[kind],
            .never = axis.ends[kind].never,
            .survived = axis.ends[kind].survived,
            .from = from[p],
            .upto = upto[p],
            .blocks = blocks,
            .together = together.empty() ? std::span<const double>{} : together[p]};
  }
};

double Attribution::detection_mean() const {
  double mean = 0.0;
  for (std::size_t p = 0; p < detection_count; ++p) mean += detection[p] * detections[p];
  return mean;
}

Attributor::Attributor(const FamilyIndex& index,
                       std::span<const works::HeardPlay> plays,
                       const Coincidences& found,
                       std::vector<Said> said,
                       const Beliefs& beliefs)
    : index_{index}, plays_{plays}, found_{found}, said_{std::move(said)}, beliefs_{beliefs} {
  axes_.reserve(index.units.size());
  for (const Unit& unit : index.units) axes_.push_back(axis_of(unit, beliefs));
  for (std::size_t p = 0; p < detection_count; ++p)
    missed_[p] = touched_with(1.0 - mistaken, std::log(1.0 - detections[p]));
  bases_.reserve(index.units.size());
  for (std::size_t u = 0; u < index.units.size(); ++u) {
    bases_.emplace_back(axes_[u]);
    for (const Member& member : index.units[u].members)
      if (index.heard[static_cast<std::size_t>(member.heard)].whole)
        bases_.back().add(axes_[u], member, not_found(member.heard), 1.0);
    bases_.back().finish();
  }
  whole_plays_.assign(static_cast<std::size_t>(index.stampers), 0.0);
  partly_.resize(static_cast<std::size_t>(index.stampers));
  for (std::size_t u = 0; u < whole_plays_.size(); ++u)
    for (const Member& member : index.units[u].members) {
      const auto& heard = index.heard[static_cast<std::size_t>(member.heard)];
      if (heard.whole)
        whole_plays_[u] += member.share * static_cast<double>(heard.plays.size());
      else
        partly_[u].push_back(member);
    }
  grower_plays_.assign(index.growers.size(), 0.0);
  some_partly_.assign(index.growers.size(), 0);
  for (std::size_t g = index.growers.size(); g-- > 0;)
    for (const int child : index.growers[g].children) {
      grower_plays_[g] += whole_plays(child);
      const bool partly = child < 0 ? !partly_[static_cast<std::size_t>(-1 - child)].empty()
                                    : some_partly_[static_cast<std::size_t>(child)] != 0;
      if (partly) some_partly_[g] = 1;
    }
  place_children();
  impression_.assign(index.heard.size(), 0);
  for (const Unit& unit : index.units)
    for (const Member& member : unit.members)
      impression_[static_cast<std::size_t>(member.heard)] = member.low;
  for (std::size_t h = 0; h < index.heard.size(); ++h) {
    heard_whole_ += index.heard[h].whole && !index.heard[h].plays.empty() ? 1 : 0;
    if (!index.heard[h].whole) heard_partly_.push_back(static_cast<int>(h));
  }
  log_share_ = log_shares(nullptr);
}

Attributor::ByLevel Attributor::log_shares(const Attribution* before) const {
  ByLevel share = beliefs_.share;
  if (before != nullptr && teaches(*before))
    for (const Weighed& cause : before->causes) {
      double& of_level = share[static_cast<std::size_t>(cause.level)];
      of_level = std::max(
          1e-6, of_level - (1.0 - before->chance) * cause.posterior / beliefs_.share_counts);
    }
  double all = 0.0;
  for (std::size_t level = 0; level < level_count; ++level)
    if (index_.nodes[level] > 0) all += share[level];
  for (std::size_t level = 0; level < level_count; ++level)
    share[level] =
        index_.nodes[level] > 0 ? std::log(share[level] / all / index_.nodes[level]) : nothing;
  return share;
}

void Attributor::place_children() {
  stamper_parent_.assign(static_cast<std::size_t>(index_.stampers), -1);
  stamper_place_.assign(stamper_parent_.size(), 0);
  grower_place_.assign(index_.growers.size(), 0);
  plays_before_.resize(index_.growers.size());
  for (std::size_t g = 0; g < index_.growers.size(); ++g) {
    plays_before_[g].push_back(0.0);
    for (std::size_t c = 0; c < index_.growers[g].children.size(); ++c) {
      const int child = index_.growers[g].children[c];
      plays_before_[g].push_back(plays_before_[g].back() + whole_plays(child));
      if (child < 0) {
        stamper_parent_[static_cast<std::size_t>(-1 - child)] = static_cast<int>(g);
        stamper_place_[static_cast<std::size_t>(-1 - child)] = c;
      } else {
        grower_place_[static_cast<std::size_t>(child)] = c;
      }
    }
  }
}

namespace {

/// Plays of a disc that heard the place, with what they found.
std::vector<Look> looks_at(const HeardDisc& heard,
                           std::span<const works::HeardPlay> plays,
                           const Coincidences& all,
                           double programme_s,
                           std::span<const int> events) {
  std::vector<Look> looks;
  for (const int p : heard.plays) {
    const auto& play = plays[static_cast<std::size_t>(p)];
    const Event* found = nullptr;
    for (const int e : events)
      if (all.events[static_cast<std::size_t>(e)].play == p)
        found = &all.events[static_cast<std::size_t>(e)];
    if (found == nullptr && !heard_at(play, programme_s)) continue;
    looks.push_back({found, all.sigma_s[static_cast<std::size_t>(p)], play.after, 0.0});
  }
  return looks;
}

}  // namespace

Attributor::Evidence Attributor::evidence_of(const Candidate& candidate) const {
  Evidence evidence{.programme_s = candidate.programme_s};
  std::vector<std::pair<int, int>> by_disc;  // heard disc, event
  double weight = 0.0;
  for (const int e : candidate.events) {
    const Event& event = found_.events[static_cast<std::size_t>(e)];
    by_disc.emplace_back(event.heard, e);
    const double sigma = found_.sigma_s[static_cast<std::size_t>(event.play)];
    constexpr double tells = 4.0;  // sigmas; what strays further says nothing of where the place is
    if (std::abs(event.programme_s - candidate.programme_s) <= tells * sigma)
      weight += 1.0 / (sigma * sigma);
  }
  evidence.above_dB = found_.marks.above_floor_dB(plays_, found_.events, candidate.events)
                          .value_or(usual_above_dB);
  evidence.log_place = 0.5 * std::log(2.0 * std::numbers::pi / weight) - std::log(index_.length_s);
  const auto gains = found_.marks.gains(plays_, found_.events, candidate.events);
  std::unordered_map<int, double> alike;
  for (std::size_t i = 0; i < gains.size(); ++i) alike[candidate.events[i]] = gains[i];
  std::sort(by_disc.begin(), by_disc.end());
  for (std::size_t i = 0; i < by_disc.size();) {
    std::vector<int> events;
    std::size_t j = i;
    for (; j < by_disc.size() && by_disc[j].first == by_disc[i].first; ++j)
      events.push_back(by_disc[j].second);
    const int heard = by_disc[i].first;
    auto looks = looks_at(index_.heard[static_cast<std::size_t>(heard)],
                          plays_,
                          found_,
                          candidate.programme_s,
                          events);
    // Further plays of a disc would sound alike whatever it is.
    for (Look& look : looks)
      if (look.event != nullptr) {
        look.alike = alike[events.front()];
        break;
      }
    evidence.discs.push_back(heard);
    evidence.ratio.push_back(
        disc_ratio(looks, candidate.programme_s, found_.rate.per_s(heard, candidate.programme_s)));
    evidence.found.push_back(stands(looks) ? Standing::stands : Standing::was_dust);
    i = j;
  }
  say(candidate, evidence);
  return evidence;
}

/// A remark makes what it speaks of likelier by how much narrower its window is than the side.
void Attributor::say(const Candidate& candidate, Evidence& evidence) const {
  for (const Said& one : said_) {
    double gain = 0.0;
    if (one.programme_s >= 0.0) {
      const double off = (candidate.programme_s - one.programme_s) / one.within_s;
      gain = index_.length_s * normal(off, 0.6) / one.within_s;
    } else {
      const Event& event = found_.events[static_cast<std::size_t>(candidate.events.front())];
      const auto& fault = plays_[static_cast<std::size_t>(event.play)]
                              .faults[static_cast<std::size_t>(event.fault)];
      const double turned =
          std::remainder(static_cast<double>(fault.angle_deg) - one.angle_deg, 360.0);
      const double off = static_cast<double>(fault.radius_m) - one.radius_m;
      constexpr double angle_sigma_deg = 8.0, radius_sigma_m = 1e-3, band_m = 0.085;
      if (std::isfinite(turned) && std::isfinite(off))
        gain = 360.0 * band_m * normal(turned, angle_sigma_deg) * normal(off, radius_sigma_m);
    }
    const double bonus = std::log1p(one.reliability * spoken_of * gain);
    if (bonus < 1e-3) continue;
    const int at = evidence.find(one.heard);
    if (at >= 0) {
      for (double& ratio : evidence.ratio[static_cast<std::size_t>(at)]) ratio += bonus;
      continue;
    }
    const auto place = std::lower_bound(evidence.discs.begin(), evidence.discs.end(), one.heard) -
                       evidence.discs.begin();
    const auto looks = looks_at(index_.heard[static_cast<std::size_t>(one.heard)],
                                plays_,
                                found_,
                                candidate.programme_s,
                                {});
    ByDetection ratio{};
    for (std::size_t p = 0; p < detection_count; ++p)
      ratio[p] = bonus + static_cast<double>(looks.size()) * missed_[p];
    evidence.discs.insert(evidence.discs.begin() + place, one.heard);
    evidence.ratio.insert(evidence.ratio.begin() + place, ratio);
    evidence.found.insert(evidence.found.begin() + place, Standing::said);
  }
}

bool Attributor::worth_weighing(const Evidence& evidence, int number) const {
  const Unit& unit = index_.units[static_cast<std::size_t>(number)];
  if (unit.level != Level::press && unit.level != Level::batch) return true;
  std::int64_t low = std::numeric_limits<std::int64_t>::max(), high = 0;
  std::ptrdiff_t finds = 0;
  for (const int heard : evidence.discs) {
    const auto& units = index_.units_of[static_cast<std::size_t>(heard)];
    if (std::ranges::find(units, number) == units.end()) continue;
    const std::int64_t at = impression_[static_cast<std::size_t>(heard)];
    ++finds;
    low = std::min(low, at);
    high = std::max(high, at);
  }
  if (finds < 2) return false;
  const auto from = std::ranges::lower_bound(unit.members, low, {}, &Member::low);
  const auto to = std::ranges::upper_bound(unit.members, high, {}, &Member::low);
  return 10 * finds >= to - from;
}

bool Attributor::ratio_of(const Evidence& evidence, int heard, ByDetection& ratio) const {
  if (const int at = evidence.find(heard); at >= 0) {
    ratio = evidence.ratio[static_cast<std::size_t>(at)];
    return true;
  }
  const auto& disc = index_.heard[static_cast<std::size_t>(heard)];
  double looks = disc.whole ? static_cast<double>(disc.plays.size()) : 0.0;
  if (!disc.whole)
    for (const int p : disc.plays)
      looks += heard_at(plays_[static_cast<std::size_t>(p)], evidence.programme_s) ? 1.0 : 0.0;
  for (std::size_t p = 0; p < detection_count; ++p) ratio[p] = looks * missed_[p];
  return looks > 0.0;
}

/// Over the kinds of end.
double Attributor::log_of_all(const Node& node, const Axis& axis, std::size_t p) const {
  double sum = nothing;
  for (std::size_t kind = 0; kind < axis.ends.size(); ++kind)
    if (axis.ends[kind].share > 0.0)
      sum = log_add(sum, std::log(axis.ends[kind].share) + log_total(node.range(axis, p, kind)));
  return sum;
}

void Attributor::weigh_units(const Evidence& evidence, std::vector<Node>& nodes) const {
  std::vector<int> touched;
  for (const int heard : evidence.discs)
    for (const int u : index_.units_of[static_cast<std::size_t>(heard)]) touched.push_back(u);
  std::sort(touched.begin(), touched.end());
  touched.erase(std::unique(touched.begin(), touched.end()), touched.end());
  for (const int u : touched) {
    if (!worth_weighing(evidence, u)) continue;
    const Axis& axis = axes_[static_cast<std::size_t>(u)];
    constexpr std::size_t long_axis = 512;
    Node node = axis.edge.size() > long_axis && !axis.uncertain ? weigh_window(evidence, u)
                                                                : weigh_unit(evidence, u);
    for (std::size_t p = 0; p < detection_count; ++p)
      node.log_evidence[p] = log_of_all(node, axis, p);
    nodes.push_back(std::move(node));
  }
}

Attributor::Node Attributor::weigh_unit(const Evidence& evidence, int number) const {
  const auto u = static_cast<std::size_t>(number);
  const Unit& unit = index_.units[u];
  const Axis& axis = axes_[u];
  UnitLikelihood said{axis};
  for (const Member& member : unit.members) {
    const bool whole = index_.heard[static_cast<std::size_t>(member.heard)].whole;
    const bool found = evidence.find(member.heard) >= 0;
    if (whole && !found) continue;
    ByDetection ratio{};
    if (ratio_of(evidence, member.heard, ratio)) said.add(axis, member, ratio, 1.0);
    if (whole) said.add(axis, member, not_found(member.heard), -1.0);
  }
  said.finish();
  said.lay_under(bases_[u]);
  Node node{.unit = true, .number = number, .level = unit.level};
  node.from = std::move(said.from);
  node.upto = std::move(said.upto);
  node.together = std::move(said.together);
  node.blocks = said.blocks;
  return node;
}

/// Of a long axis only the cells near the finds: an onset or an end further off would have passed so
/// many discs without the fault that it weighs less than 1e-9 of the rest. All its discs are known
/// exactly.
Attributor::Node Attributor::weigh_window(const Evidence& evidence, int number) const {
  constexpr std::size_t margin = 64;
  const auto u = static_cast<std::size_t>(number);
  const Unit& unit = index_.units[u];
  const Axis& axis = axes_[u];
  const UnitLikelihood& base = bases_[u];
  const std::size_t cells = axis.edge.size();
  const auto cell_of = [&](std::int64_t impression) {
    return static_cast<std::size_t>(
        std::lower_bound(axis.edge.begin(), axis.edge.end(), impression) - axis.edge.begin());
  };
  std::vector<const Member*> changed;
  for (const int heard : evidence.discs) {
    const std::int64_t at = impression_[static_cast<std::size_t>(heard)];
    for (auto member = std::ranges::lower_bound(unit.members, at, {}, &Member::low);
         member != unit.members.end() && member->low == at;
         ++member)
      if (member->heard == heard) changed.push_back(&*member);
  }
  std::size_t low = cells - 1, high = 0;
  for (const Member* member : changed) {
    low = std::min(low, cell_of(member->low));
    high = std::max(high, cell_of(member->low));
  }
  low = low > margin ? low - margin : 0;
  high = std::min(cells, high + margin + 1);
  for (auto member = std::ranges::lower_bound(unit.members, axis.edge[low], {}, &Member::low);
       member != unit.members.end() && member->low <= axis.edge[high - 1];
       ++member)
    if (!index_.heard[static_cast<std::size_t>(member->heard)].whole &&
        evidence.find(member->heard) < 0)
      changed.push_back(&*member);

  Node node{.unit = true, .number = number, .level = unit.level};
  node.first = low;
  std::vector<ByDetection> at(high - low, ByDetection{});
  for (const Member* member : changed) {
    ByDetection ratio{};
    const bool counts = ratio_of(evidence, member->heard, ratio);
    const bool whole = index_.heard[static_cast<std::size_t>(member->heard)].whole;
    const ByDetection missed = not_found(member->heard);
    ByDetection& here = at[cell_of(member->low) - low];
    for (std::size_t p = 0; p < detection_count; ++p)
      here[p] += (counts ? touched_with(member->share, ratio[p]) : 0.0) -
                 (whole ? touched_with(member->share, missed[p]) : 0.0);
  }
  for (std::size_t p = 0; p < detection_count; ++p) {
    node.from.emplace_back(high - low, 0.0);
    node.upto.emplace_back(high - low + 1, 0.0);
    double from_here = 0.0;
    for (std::size_t k = high - low; k-- > 0;) {
      from_here += at[k][p];
      node.from[p][k] = base.from[p][low + k] + from_here;
      node.upto[p][k] = base.upto[p][low + k] - from_here;
    }
  }
  for (const Ends& ends : axis.ends) {
    const auto behind = ends.mass.begin() + static_cast<std::ptrdiff_t>(high);
    std::vector<double> mass(ends.mass.begin() + static_cast<std::ptrdiff_t>(low), behind);
    mass.push_back(std::accumulate(behind, ends.mass.end(), 0.0));
    node.end_mass.push_back(std::move(mass));
  }
  return node;
}

ByDetection Attributor::not_found(int heard) const {
  ByDetection ratio = missed_;
  for (double& one : ratio)
    one *= static_cast<double>(index_.heard[static_cast<std::size_t>(heard)].plays.size());
  return ratio;
}

namespace {

/// Prior over the children of a part that grows others: which came first with the fault, and which
/// first without it again.
struct GrowerPrior {
  struct Ending {
    double share{1.0}, never{};
    bool survived{};
    std::vector<double> mass{};
  };
  std::vector<double> onset;
  std::array<Ending, 2> ends;  ///< of itself; else where something was done, or never

  [[nodiscard]] Range range(const Ending& ending,
                            std::span<const double> from,
                            std::span<const double> upto) const {
    return {.onset = onset,
            .end = ending.mass,
            .never = ending.never,
            .survived = ending.survived,
            .from = from,
            .upto = upto};
  }
};

GrowerPrior prior_of(const Grower& part, const Beliefs& beliefs) {
  const std::size_t children = part.children.size();
  const auto level = static_cast<std::size_t>(part.level);
  GrowerPrior prior{.onset = std::vector<double>(children, 0.0), .ends = {}};
  auto& [alone, at_steps] = prior.ends;
  alone.mass = at_steps.mass = std::vector<double>(children + 1, 0.0);
  alone.share = beliefs.ceases[level];
  at_steps = {1.0 - alone.share, 1.0, true, std::move(at_steps.mass)};
  if (children < 2 || part.level == Level::cut) {
    if (children > 0) prior.onset[0] = 1.0;
    return prior;
  }
  const double birth = beliefs.birth[level];
  const double at_step = part.steps.empty() ? 0.0 : beliefs.at_step * (1.0 - birth);
  const auto gaps = static_cast<double>(children - 1);
  prior.onset[0] = birth;
  for (std::size_t c = 1; c < children; ++c) {
    prior.onset[c] = (1.0 - birth - at_step) / gaps;
    alone.mass[c] = 1.0 / gaps;
  }
  for (const std::int64_t step : part.steps) {
    const auto c = static_cast<std::size_t>(step);
    prior.onset[c] += at_step / static_cast<double>(part.steps.size());
    const double here = at_steps.never * beliefs.mended[level];
    at_steps.mass[c] += here;
    at_steps.never -= here;
  }
  return prior;
}

}  // namespace

/// Plays under a stamper or grower that heard the place and are listed as partly heard.
double Attributor::partly_heard(int child, double programme_s) const {
  double looks = 0.0;
  if (child >= 0) {
    const auto g = static_cast<std::size_t>(child);
    if (some_partly_[g] != 0)
      for (const int next : index_.growers[g].children) looks += partly_heard(next, programme_s);
    return looks;
  }
  for (const Member& member : partly_[static_cast<std::size_t>(-1 - child)])
    for (const int p : index_.heard[static_cast<std::size_t>(member.heard)].plays)
      if (heard_at(plays_[static_cast<std::size_t>(p)], programme_s)) looks += member.share;
  return looks;
}

double Attributor::whole_plays(int child) const {
  return child < 0 ? whole_plays_[static_cast<std::size_t>(-1 - child)]
                   : grower_plays_[static_cast<std::size_t>(child)];
}

/// The most that a run of children can say for this part: children with a find, with what was heard
/// whole between them.
double Attributor::bound(int grower, const Children& known, const ByDetection& prior) const {
  const auto& before = plays_before_[static_cast<std::size_t>(grower)];
  double best = nothing;
  for (std::size_t p = 0; p < detection_count; ++p) {
    double run = 0.0, most = nothing;
    std::size_t behind = 0;
    for (const auto& [child, said] : known) {
      run = std::max(0.0, run + (before[child] - before[behind]) * missed_[p]) + said[p];
      most = std::max(most, run);
      behind = child + 1;
    }
    best = std::max(best, most + std::log(prior[p]));
  }
  return best + log_share_[static_cast<std::size_t>(
                    index_.growers[static_cast<std::size_t>(grower)].level)];
}

/// What a part says if all under it was touched.
ByDetection Attributor::all_of(int grower, const Children& known, double programme_s) const {
  const auto& part = index_.growers[static_cast<std::size_t>(grower)];
  double looks = whole_plays(grower) + partly_heard(grower, programme_s);
  ByDetection sum{};
  for (const auto& [child, said] : known) {
    looks -= whole_plays(part.children[child]) + partly_heard(part.children[child], programme_s);
    for (std::size_t p = 0; p < detection_count; ++p) sum[p] += said[p];
  }
  for (std::size_t p = 0; p < detection_count; ++p) sum[p] += looks * missed_[p];
  return sum;
}

Attributor::Node Attributor::weigh_grower(int grower,
                                          const Children& known,
                                          double programme_s) const {
  const Grower& part = index_.growers[static_cast<std::size_t>(grower)];
  const std::size_t children = part.children.size();
  Node node{.unit = false, .number = grower, .level = part.level};
  node.from.assign(detection_count, std::vector<double>(children, 0.0));
  node.upto.assign(detection_count, std::vector<double>(children + 1, 0.0));
  ByDetection behind{};
  auto next = known.rbegin();
  for (std::size_t c = children; c-- > 0;) {
    const bool found = next != known.rend() && next->first == c;
    const double looks =
        found ? 0.0 : whole_plays(part.children[c]) + partly_heard(part.children[c], programme_s);
    for (std::size_t p = 0; p < detection_count; ++p) {
      behind[p] += found ? next->second[p] : looks * missed_[p];
      node.from[p][c] = behind[p];
      node.upto[p][c] = -behind[p];
    }
    if (found) ++next;
  }
  const GrowerPrior prior = prior_of(part, beliefs_);
  for (std::size_t p = 0; p < detection_count; ++p) {
    node.log_evidence[p] = nothing;
    for (const auto& ending : prior.ends)
      if (ending.share > 0.0)
      node.log_evidence[p] =
          log_add(node.log_evidence[p],
                  std::log(ending.share) +
                      log_total(prior.range(ending, node.from[p], node.upto[p])));
  }
  return node;
}

void Attributor::weigh_growers(const Evidence& evidence,
                               const ByDetection& prior,
                               std::vector<Node>& nodes) const {
  constexpr double hopeless = -35.0;  // against the best so far: under the last digit of all sums
  std::map<int, Children, std::greater<>> touched;  // parents are numbered before their children
  double best = nothing;
  for (const Node& node : nodes) {
    for (std::size_t p = 0; p < detection_count; ++p)
      best = std::max(best,
                      node.log_evidence[p] + std::log(prior[p]) +
                          log_share_[static_cast<std::size_t>(node.level)]);
    if (node.level != Level::stamper) continue;
    const auto u = static_cast<std::size_t>(node.number);
    if (stamper_parent_[u] < 0) continue;
    ByDetection whole{};
    for (std::size_t p = 0; p < detection_count; ++p) whole[p] = node.from[p].front();
    touched[stamper_parent_[u]].emplace(stamper_place_[u], whole);
  }
  while (!touched.empty()) {
    const auto [g, known] = std::move(*touched.begin());
    touched.erase(touched.begin());
    const auto number = static_cast<std::size_t>(g);
    if (const int parent = index_.growers[number].parent; parent >= 0)
      touched[parent].emplace(grower_place_[number], all_of(g, known, evidence.programme_s));
    if (bound(g, known, prior) > best + hopeless)
      nodes.push_back(weigh_grower(g, known, evidence.programme_s));
  }
}

ByDetection Attributor::detection_of(const Evidence& evidence, const Attribution* before) const {
  ByLaw hearing = beliefs_.log_hearing;
  if (before != nullptr && teaches(*before))
    for (std::size_t law = 0; law < law_count; ++law) hearing[law] -= before->log_hearing[law];
  return detection_prior(hearing, evidence.above_dB);
}

std::vector<Attributor::Node> Attributor::nodes_of(const Evidence& evidence,
                                                   const ByLevel& log_share,
                                                   const ByDetection& prior,
                                                   double& log_sum) const {
  std::vector<Node> nodes;
  weigh_units(evidence, nodes);
  weigh_growers(evidence, prior, nodes);
  log_sum = nothing;
  for (Node& node : nodes)
    for (std::size_t p = 0; p < detection_count; ++p) {
      node.log_evidence[p] += log_share[static_cast<std::size_t>(node.level)] + std::log(prior[p]);
      log_sum = log_add(log_sum, node.log_evidence[p]);
    }
  return nodes;
}

double Attributor::log_odds(const Candidate& candidate) const {
  const Evidence evidence = evidence_of(candidate);
  double log_sum = nothing;
  static_cast<void>(nodes_of(evidence, log_share_, detection_of(evidence, nullptr), log_sum));
  return std::log(beliefs_.recurring) + evidence.log_place + log_sum;
}

void Attributor::fill(const Node& node, Weighed& cause) const {
  const Axis* axis = node.unit ? &axes_[static_cast<std::size_t>(node.number)] : nullptr;
  GrowerPrior prior;
  if (!node.unit) prior = prior_of(index_.growers[static_cast<std::size_t>(node.number)], beliefs_);
  const std::size_t kinds = node.unit ? axis->ends.size() : prior.ends.size();
  const std::size_t cells = node.from.front().size();
  const auto range = [&](std::size_t p, std::size_t kind) {
    return node.unit ? node.range(*axis, p, kind)
                     : prior.range(prior.ends[kind], node.from[p], node.upto[p]);
  };
  double all = nothing;
  for (const double one : node.log_evidence) all = log_add(all, one);
  std::vector<double> onset(cells, 0.0);
  std::vector<std::vector<double>> end(kinds, std::vector<double>(cells + 1, 0.0));
  for (std::size_t p = 0; p < detection_count; ++p) {
    const double weight = std::exp(node.log_evidence[p] - all);
    if (weight < 1e-9) continue;
    std::vector<RangePosterior> found;
    double both = nothing;
    for (std::size_t kind = 0; kind < kinds; ++kind) {
      found.push_back(posterior(range(p, kind)));
      const double share = node.unit ? axis->ends[kind].share : prior.ends[kind].share;
      found[kind].log_total += share > 0.0 ? std::log(share) : nothing;
      both = log_add(both, found[kind].log_total);
    }
    for (std::size_t kind = 0; kind < kinds; ++kind) {
      const double of_kind = weight * std::exp(found[kind].log_total - both);
      for (std::size_t k = 0; k < cells; ++k) onset[k] += of_kind * found[kind].onset[k];
      for (std::size_t k = 0; k <= cells; ++k) end[kind][k] += of_kind * found[kind].end[k];
    }
  }
  std::vector<double> ends;
  for (const auto& one : end) ends.push_back(std::accumulate(one.begin(), one.end(), 0.0));
  cause.ends = std::accumulate(ends.begin(), ends.end(), 0.0);
  const double steps = node.unit ? axis->ends[1].never : prior.ends[1].never;
  cause.may_be_mended = steps < 1.0;
  cause.mended = ends[1];
  if (!node.unit) {
    cause.first_child = onset;
    cause.since_birth = onset.empty() ? 0.0 : onset.front();
    double now = 0.0;
    for (std::size_t c = 0; c < cells; ++c) {
      now += onset[c];
      for (const auto& one : end) now -= one[c];
      cause.child.push_back(std::clamp(now, 0.0, 1.0));
    }
    return;
  }
  const auto spread = [&](const std::vector<double>& mass,
                          const std::vector<std::vector<Piece>>& cell,
                          const std::vector<double>& prior_mass,
                          std::vector<Piece>& out) {
    for (std::size_t k = 0; k < mass.size(); ++k)
      if (mass[k] > 1e-7)
        for (const Piece& piece : cell[node.first + k])
          out.push_back({piece.low, piece.high, piece.mass / prior_mass[node.first + k] * mass[k]});
  };
  spread(onset, axis->onset, axis->onset_mass, cause.onset);
  for (std::size_t kind = 0; kind < kinds; ++kind)
    spread(end[kind], axis->ends[kind].cell, axis->ends[kind].mass, cause.end);
  if (cells > 0 && node.first == 0 && axis->onset_mass[0] > 0.0)
    cause.since_birth = onset[0] * axis->birth / axis->onset_mass[0];
}

Attribution Attributor::explain(const Candidate& candidate, const Attribution* before) const {
  const Evidence evidence = evidence_of(candidate);
  Attribution result;
  double log_sum = nothing;
  const ByDetection prior = detection_of(evidence, before);
  const auto nodes = nodes_of(evidence, log_shares(before), prior, log_sum);
  result.log_odds = std::log(beliefs_.recurring) + evidence.log_place + log_sum;
  result.chance = 1.0 / (1.0 + std::exp(std::min(700.0, result.log_odds)));
  for (const Node& node : nodes) {
    double log_node = nothing;
    for (std::size_t p = 0; p < detection_count; ++p) {
      log_node = log_add(log_node, node.log_evidence[p]);
      result.detection[p] += std::exp(node.log_evidence[p] - log_sum);
    }
    Weighed cause{
        .level = node.level, .number = node.number, .posterior = std::exp(log_node - log_sum)};
    if (cause.posterior < least_posterior) continue;
    fill(node, cause);
    result.causes.push_back(std::move(cause));
  }
  ByDetection log_likelihood{};
  for (std::size_t p = 0; p < detection_count; ++p)
    log_likelihood[p] = std::log(std::max(1e-300, result.detection[p]) / prior[p]);
  result.log_hearing = likelihood_of_laws(log_likelihood, evidence.above_dB);
  std::stable_sort(result.causes.begin(),
                   result.causes.end(),
                   [](const Weighed& a, const Weighed& b) { return a.posterior > b.posterior; });
  const double likely = result.detection_mean();
  std::size_t nearest = 0;
  for (std::size_t p = 1; p < detection_count; ++p)
    if (std::abs(detections[p] - likely) < std::abs(detections[nearest] - likely)) nearest = p;
  for (std::size_t i = 0; i < evidence.discs.size(); ++i)
    if (evidence.ratio[i][nearest] > 0.0) {
      if (evidence.found[i] == Standing::stands) result.on.push_back(evidence.discs[i]);
      if (evidence.found[i] == Standing::said) ++result.spoken_of;
    }
  result.heard = heard_whole_;
  for (const int h : heard_partly_)
    result.heard +=
        std::ranges::any_of(index_.heard[static_cast<std::size_t>(h)].plays, [&](int p) {
          return heard_at(plays_[static_cast<std::size_t>(p)], candidate.programme_s);
        });
  return result;
}

}  // namespace goodside::trace
