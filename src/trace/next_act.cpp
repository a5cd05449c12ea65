#include "trace/next_act.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <unordered_map>

namespace goodside::trace {
namespace {

using works::ActKind;
using works::NextAct;

constexpr double seen_on_metal = 0.9, seen_of_grit = 0.2;
constexpr double least_gain_bits = 0.005;

double entropy(double p) {
  if (p <= 0.0 || p >= 1.0) return 0.0;
  return -p * std::log2(p) - (1.0 - p) * std::log2(1.0 - p);
}

std::string clock(double programme_s) {
  const double whole = std::max(0.0, programme_s);
  const int minutes = static_cast<int>(whole / 60.0);
  return fmt::format("{}:{:04.1f}", minutes, whole - 60.0 * minutes);
}

std::string place_in_words(const works::RecurringFault& fault) {
  std::string words = fmt::format(
      "side {} at {}", fault.side == works::DiscSide::A ? "A" : "B", clock(fault.programme_s));
  if (fault.radius_m) words += fmt::format(", radius {:.1f} mm", *fault.radius_m * 1e3);
  if (fault.angle_deg) words += fmt::format(", angle {:.0f}°", *fault.angle_deg);
  return words;
}

bool was_heard(const HeardDisc& heard,
               std::span<const works::HeardPlay> plays,
               double programme_s) {
  return std::ranges::any_of(heard.plays, [&](int p) {
    const auto& play = plays[static_cast<std::size_t>(p)];
    return play.heard.empty() || std::ranges::any_of(play.heard, [&](const auto& part) {
             return programme_s >= part.from_s && programme_s <= part.to_s;
           });
  });
}

/// P(it is there | cause), for metal as it is now.
double stamper_has_it(const FamilyIndex& index, const Attribution& why, int stamper, bool& grit) {
  double sum = 0.0;
  grit = false;
  for (const Weighed& cause : why.causes) {
    if (cause.level == Level::stamper && cause.number == stamper)
      sum += cause.posterior * (1.0 - cause.ends);
    grit = grit || cause.level == Level::mounting;
  }
  static_cast<void>(index);
  return sum;
}

double grower_has_it(const FamilyIndex& index, const Attribution& why, int grower) {
  double sum = 0.0;
  for (const Weighed& cause : why.causes) {
    if (cause.level >= Level::stamper) continue;
    if (cause.number == grower) {
      sum += cause.posterior * (1.0 - cause.ends);
      continue;
    }
    // A parent's fault is on the child if the child was touched.
    const Grower& part = index.growers[static_cast<std::size_t>(cause.number)];
    for (std::size_t c = 0; c < part.children.size(); ++c)
      if (part.children[c] == grower) sum += cause.posterior * cause.child[c];
    if (part.level == Level::cut &&
        index.growers[static_cast<std::size_t>(grower)].level == Level::mother)
      sum += cause.posterior;
  }
  return std::min(1.0, sum);
}

class Chooser {
 public:
  Chooser(const works::Family& family,
          std::span<const works::HeardPlay> plays,
          const FamilyIndex& index,
          const Recurring& recurring,
          const Touched& touched,
          const works::RecurringFault& fault)
      : family_{family},
        plays_{plays},
        index_{index},
        recurring_{recurring},
        touched_{touched},
        fault_{fault},
        names_{index} {}

  std::vector<NextAct> run() {
    offer_hearing();
    offer_metal();
    std::erase_if(acts_, [](const NextAct& act) { return act.gain_bits < least_gain_bits; });
    std::stable_sort(acts_.begin(), acts_.end(), [](const NextAct& a, const NextAct& b) {
      return a.gain_bits / a.minutes > b.gain_bits / b.minutes;
    });
    return std::move(acts_);
  }

 private:
  [[nodiscard]] NextAct act(ActKind kind, double minutes, double gain) const {
    NextAct one;
    one.act = kind;
    one.minutes = minutes;
    one.gain_bits = gain;
    one.where = place_in_words(fault_);
    one.about = {fault_.id};
    return one;
  }

  void offer_hearing() {
    std::vector<char> heard_here(family_.discs.size(), 0);
    for (const HeardDisc& heard : index_.heard)
      if (family_.discs[static_cast<std::size_t>(heard.disc)].fetchable &&
          was_heard(heard, plays_, fault_.programme_s))
        heard_here[static_cast<std::size_t>(heard.disc)] = 1;
    const double detection = recurring_.why.detection_mean();
    NextAct best = act(ActKind::spot_hear, family_.costs.spot_hear_min, -1.0);
    const auto offer = [&](const WhichDisc& disc, auto name) {
      const double gain = gain_bits(touched_.probability(disc), detection);
      if (gain <= best.gain_bits + 1e-12) return;
      best.gain_bits = gain;
      best.disc = best.carton = best.spindle = {};
      best.impression = disc.impression;
      name(best);
    };
    for (std::size_t d = 0; d < family_.discs.size(); ++d) {
      const auto& disc = family_.discs[d];
      if (!disc.fetchable || heard_here[d] != 0) continue;
      const WhichDisc which = names_.which(disc, fault_.side);
      if (which.units.empty()) continue;
      offer(which, [&](NextAct& one) {
        one.disc = disc.id;
        one.carton = disc.carton;
        one.spindle = disc.spindle;
      });
    }
    for (const auto& lot : family_.stock) {
      if (!lot.fetchable) continue;
      offer_lot(lot, offer);
    }
    if (best.gain_bits < least_gain_bits) return;
    NextAct whole = best;
    whole.act = ActKind::hear;
    whole.minutes = family_.costs.hear_min;
    acts_.push_back(std::move(best));
    acts_.push_back(std::move(whole));
  }

  /// A spindle keeps its discs in order, so that one can be counted off; of a carton any is taken.
  template <class Offer>
  void offer_lot(const works::FamilyStock& lot, const Offer& offer) const {
    const auto name = [&](NextAct& one) {
      one.carton = lot.carton;
      one.spindle = lot.spindle;
    };
    if (lot.spindle.empty()) {
      offer(names_.which(lot.impressions), name);
      return;
    }
    constexpr std::int64_t most = 41;
    const std::int64_t width = lot.impressions.width(), tries = std::min(width, most);
    for (std::int64_t i = 0; i < tries; ++i) {
      const std::int64_t at =
          lot.impressions.first + (tries > 1 ? (width - 1) * i / (tries - 1) : 0);
      offer(names_.which(works::Impressions{at, at}), name);
    }
  }

  void offer_metal() {
    const auto& why = recurring_.why;
    int stamper = -1;
    double most = 0.0, mounting = 0.0;
    for (int u = 0; u < index_.stampers; ++u) {
      bool grit = false;
      double now = stamper_has_it(index_, why, u, grit) + touched_.through_parents(u);
      if (const double gain = gain_bits(std::min(1.0, now), seen_on_metal); gain > most) {
        most = gain;
        stamper = u;
      }
    }
    static_cast<void>(mounting);
    if (stamper >= 0) {
      NextAct one = act(ActKind::microscope, family_.costs.microscope_min, most);
      one.part = index_.units[static_cast<std::size_t>(stamper)].id;
      one.caution =
          "Let the stamper cool, lift it with gloves: its edge cuts, and a scratch presses itself "
          "into every disc.";
      acts_.push_back(std::move(one));
    }
    for (const Level level : {Level::mother, Level::father}) {
      int best = -1;
      double gain = 0.0;
      for (std::size_t g = 0; g < index_.growers.size(); ++g) {
        if (index_.growers[g].level != level) continue;
        const double here =
            gain_bits(grower_has_it(index_, why, static_cast<int>(g)), seen_on_metal);
        if (here > gain) {
          gain = here;
          best = static_cast<int>(g);
        }
      }
      if (best < 0) continue;
      NextAct one = act(
          level == Level::mother ? ActKind::play_mother : ActKind::look_at_father,
          level == Level::mother ? family_.costs.play_mother_min : family_.costs.look_at_father_min,
          gain);
      one.part = index_.growers[static_cast<std::size_t>(best)].id;
      one.caution = level == Level::mother
                        ? "Metal edges cut: wear gloves. Play it with a light stylus once only; a "
                          "mother that is hurt hurts every stamper after it."
                        : "Metal edges cut: wear gloves. Look, do not touch the grooves: all metal "
                          "comes from this part.";
      acts_.push_back(std::move(one));
    }
  }

  const works::Family& family_;
  std::span<const works::HeardPlay> plays_;
  const FamilyIndex& index_;
  const Recurring& recurring_;
  const Touched& touched_;
  const works::RecurringFault& fault_;
  UnitNames names_;
  std::vector<NextAct> acts_;
};

}  // namespace

double gain_bits(double presence, double detection) {
  const double m = std::clamp(presence, 0.0, 1.0);
  return std::max(0.0, entropy(m * detection) - m * entropy(detection));
}

std::vector<NextAct> next_acts(const works::Family& family,
                               std::span<const works::HeardPlay> plays,
                               const FamilyIndex& index,
                               const Recurring& recurring,
                               const Touched& touched,
                               const works::RecurringFault& fault) {
  return Chooser{family, plays, index, recurring, touched, fault}.run();
}

std::vector<NextAct> next_of_all(const std::vector<works::RecurringFault>& faults,
                                 const works::TraceCosts& costs) {
  std::vector<NextAct> acts;
  std::unordered_map<std::string, std::size_t> hearing;  // of a disc and side
  for (const auto& fault : faults) {
    if (!fault.open) continue;
    for (const NextAct& one : fault.next) {
      if (one.act != ActKind::hear) {
        acts.push_back(one);
        continue;
      }
      const std::string key =
          fmt::format("{}|{}|{}|{}", one.disc, one.carton, one.spindle, one.where.substr(0, 6));
      const auto [at, fresh] = hearing.try_emplace(key, acts.size());
      if (fresh) {
        acts.push_back(one);
        acts.back().where = one.where.substr(0, 6);
        acts.back().minutes = costs.hear_min;
      } else {
        acts[at->second].gain_bits += one.gain_bits;
        acts[at->second].about.push_back(fault.id);
      }
    }
  }
  std::stable_sort(acts.begin(), acts.end(), [](const NextAct& a, const NextAct& b) {
    return a.gain_bits / a.minutes > b.gain_bits / b.minutes;
  });
  constexpr std::size_t most = 10;
  if (acts.size() > most) acts.resize(most);
  return acts;
}

double hearings_needed(const Touched& touched, double detection, double scale) {
  const double window = std::max(1.0, 0.02 * scale);
  double all = 0.0, unknown = 0.0;
  for (const Piece& piece : touched.onset()) all += piece.mass;
  if (all <= 0.0) return 0.0;
  for (const Piece& piece : touched.onset()) {
    const double share = piece.mass / all;
    if (share <= 0.0) continue;
    const double windows = std::max(1.0, static_cast<double>(piece.high - piece.low + 1) / window);
    unknown += share * (std::log2(windows) - std::log2(share));
  }
  // Pieces inside one window are no question: what is left is at least that of the widest.
  const auto where = credible(touched.onset(), 0.9, scale);
  const double width = static_cast<double>(where.high - where.low + 1);
  unknown = std::min(unknown, std::log2(std::max(1.0, width / window)));
  double best = 0.0;
  for (int i = 1; i < 50; ++i) best = std::max(best, gain_bits(0.02 * i, detection));
  return best > 0.0 ? unknown / best : 0.0;
}

}  // namespace goodside::trace
