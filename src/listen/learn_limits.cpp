#include "listen/learn_limits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "base/expects.hpp"
#include "listen/verdict_words.hpp"
#include "stats/interval.hpp"
#include "stats/sign_test.hpp"

namespace goodside::listen {
namespace {

using Discs = std::vector<const ListenedDisc*>;

constexpr std::size_t most_candidates = 48;
constexpr std::size_t most_groups = 100;
constexpr double hardly = 1e-9;
constexpr double luck = 0.05;

/// One bit a disc.
using Flags = std::vector<std::uint64_t>;

void set(Flags& flags, std::size_t disc) {
  flags[disc / 64] |= std::uint64_t{1} << (disc % 64);
}

struct Candidate {
  double limit{};
  Flags held;  ///< discs over it
};

/// The number of fewest digits from `low` up to, not including, `high`, nearest their middle.
double roundest(double low, double high) {
  const double middle = 0.5 * (low + high);
  if (low <= 0.0 && 0.0 < high) return 0.0;
  const double size = std::floor(std::log10(std::abs(middle)));
  for (int digits = 0; digits < 8; ++digits) {
    const double steps = std::pow(10.0, digits - size);
    const double rounded = std::round(middle * steps) / steps;
    if (low <= rounded && rounded < high) return rounded;
  }
  return low;
}

Candidate candidate(const Discs& discs, std::size_t m, double limit) {
  Candidate one{limit, Flags((discs.size() + 63) / 64, 0)};
  for (std::size_t d = 0; d < discs.size(); ++d)
    if (const auto& value = discs[d]->measured.values[m]; value && *value > limit) set(one.held, d);
  return one;
}

/// One measure's limits to choose among, the old one first, then by their distance from it.
std::vector<Candidate> candidates_of(const Discs& discs, std::size_t m, double old_limit) {
  std::vector<double> figures;
  for (const auto* disc : discs)
    if (const auto& value = disc->measured.values[m]; value && std::isfinite(*value))
      figures.push_back(*value);
  std::ranges::sort(figures);
  const auto repeats = std::ranges::unique(figures);
  figures.erase(repeats.begin(), repeats.end());

  const bool whole = judged_measures()[m].count != nullptr;
  std::vector<double> limits;
  const std::size_t step = std::max<std::size_t>(1, figures.size() / most_candidates);
  for (std::size_t i = 0; i < figures.size(); i += step) {
    const bool last = i + 1 >= figures.size();
    limits.push_back(whole || last ? figures[i] : roundest(figures[i], figures[i + 1]));
  }
  std::ranges::stable_sort(limits, {}, [&](double limit) { return std::abs(limit - old_limit); });

  std::vector<Candidate> all{candidate(discs, m, old_limit)};
  for (const double limit : limits) all.push_back(candidate(discs, m, limit));
  return all;
}

/// The discs, the limits to choose among, and the choice.
class Search {
 public:
  Search(const Discs& discs, const LearnOptions& options)
      : weight_{options.missed_weighs},
        words_{(discs.size() + 63) / 64},
        failed_(words_, 0),
        passed_(words_, 0),
        held_anyway_(words_, 0) {
    for (std::size_t d = 0; d < discs.size(); ++d) {
      set(discs[d]->passed ? passed_ : failed_, d);
      if (discs[d]->measured.off_the_groove && !options.from.jumps_allowed.value_or(true))
        set(held_anyway_, d);
    }
    for (std::size_t m = 0; m < judged_count; ++m)
      if (const auto old_limit = limit_of(options.from, judged_measures()[m]))
        measures_.push_back({m, candidates_of(discs, m, *old_limit), 0});
  }

  void run() {
    for (bool better = true; better;) {
      better = false;
      for (std::size_t a = 0; a < measures_.size(); ++a) better = move_one(a) || better;
      if (better) continue;
      for (std::size_t a = 0; a < measures_.size() && !better; ++a)
        for (std::size_t b = a + 1; b < measures_.size() && !better; ++b) better = move_two(a, b);
    }
    while (take_back_the_weakest()) {
    }
  }

  [[nodiscard]] works::Limits limits(works::Limits from) const {
    for (const auto& measure : measures_)
      if (measure.chosen > 0)
        set_limit(from, judged_measures()[measure.index], measure.choice().limit);
    return from;
  }

  [[nodiscard]] double cost() const { return cost_of(held_without(none, none)); }

  /// Discs that come right by this measure's move; 0 where it stays.
  [[nodiscard]] int votes(std::size_t index) const {
    for (std::size_t a = 0; a < measures_.size(); ++a)
      if (measures_[a].index == index && measures_[a].chosen > 0) return votes_of(a);
    return 0;
  }

 private:
  struct Measure {
    std::size_t index;  ///< into judged_measures
    std::vector<Candidate> candidates;
    std::size_t chosen;
    [[nodiscard]] const Candidate& choice() const { return candidates[chosen]; }
  };
  static constexpr std::size_t none = judged_count;

  /// Discs that all limits but those of `a` and `b` hold.
  [[nodiscard]] Flags held_without(std::size_t a, std::size_t b) const {
    Flags held = held_anyway_;
    for (std::size_t m = 0; m < measures_.size(); ++m)
      if (m != a && m != b) add(held, measures_[m].choice().held);
    return held;
  }

  static void add(Flags& held, const Flags& more) {
    for (std::size_t w = 0; w < held.size(); ++w) held[w] |= more[w];
  }

  template <class HeldWord>
  [[nodiscard]] double cost_by(HeldWord held) const {
    int missed = 0, wrongly = 0;
    for (std::size_t w = 0; w < words_; ++w) {
      const std::uint64_t word = held(w);
      missed += std::popcount(failed_[w] & ~word);
      wrongly += std::popcount(passed_[w] & word);
    }
    return weight_ * missed + wrongly;
  }

  [[nodiscard]] double cost_of(const Flags& held) const {
    return cost_by([&](std::size_t w) { return held[w]; });
  }

  bool move_one(std::size_t a) {
    const Flags others = held_without(a, none);
    const std::size_t before = measures_[a].chosen;
    double least = cost();
    for (std::size_t i = 0; i < measures_[a].candidates.size(); ++i) {
      const Flags& own = measures_[a].candidates[i].held;
      const double cost = cost_by([&](std::size_t w) { return others[w] | own[w]; });
      if (cost >= least - hardly) continue;
      least = cost;
      measures_[a].chosen = i;
    }
    return measures_[a].chosen != before;
  }

  bool move_two(std::size_t a, std::size_t b) {
    const Flags others = held_without(a, b);
    double least = cost();
    bool better = false;
    for (std::size_t i = 0; i < measures_[a].candidates.size(); ++i) {
      Flags with_a = others;
      add(with_a, measures_[a].candidates[i].held);
      for (std::size_t k = 0; k < measures_[b].candidates.size(); ++k) {
        const Flags& own = measures_[b].candidates[k].held;
        const double cost = cost_by([&](std::size_t w) { return with_a[w] | own[w]; });
        if (cost >= least - hardly) continue;
        least = cost;
        measures_[a].chosen = i;
        measures_[b].chosen = k;
        better = true;
      }
    }
    return better;
  }

  [[nodiscard]] Flags held_with_old(std::size_t a) const {
    Flags held = held_without(a, none);
    add(held, measures_[a].candidates.front().held);
    return held;
  }

  [[nodiscard]] int votes_of(std::size_t a) const {
    const Flags now = held_without(none, none), old = held_with_old(a);
    int votes = 0;
    for (std::size_t w = 0; w < words_; ++w)
      votes += std::popcount(failed_[w] & now[w] & ~old[w]) +
               std::popcount(passed_[w] & old[w] & ~now[w]);
    return votes;
  }

  bool take_back_the_weakest() {
    std::size_t weakest = none;
    double least = 0.0;
    for (std::size_t a = 0; a < measures_.size(); ++a) {
      if (measures_[a].chosen == 0) continue;
      const double gain = cost_of(held_with_old(a)) - cost();
      const bool enough =
          votes_of(a) >= least_votes && gain >= least_votes * std::min(1.0, weight_) - hardly;
      if (enough || (weakest != none && gain >= least)) continue;
      weakest = a;
      least = gain;
    }
    if (weakest == none) return false;
    measures_[weakest].chosen = 0;
    return true;
  }

  double weight_;
  std::size_t words_;
  Flags failed_, passed_, held_anyway_;
  std::vector<Measure> measures_;
};

bool is_held(const ListenedDisc& disc, const works::Limits& limits) {
  if (disc.measured.off_the_groove && !limits.jumps_allowed.value_or(true)) return true;
  for (std::size_t m = 0; m < judged_count; ++m) {
    const auto limit = limit_of(limits, judged_measures()[m]);
    const auto& value = disc.measured.values[m];
    if (limit && value && *value > *limit) return true;
  }
  return false;
}

void count(works::Agreement& agreement, const ListenedDisc& disc, bool held) {
  ++(disc.passed ? agreement.passed : agreement.failed);
  if (disc.passed != held) ++(disc.passed ? agreement.passed_let_through : agreement.failed_held);
}

void finish(works::Agreement& agreement) {
  if (agreement.discs() == 0) return;
  constexpr double confidence = 0.95;
  const auto interval =
      stats::proportion_interval(agreement.agreed(), agreement.discs(), confidence);
  agreement.share = static_cast<double>(agreement.agreed()) / agreement.discs();
  agreement.low = interval.low;
  agreement.high = interval.high;
}

works::Agreement agreement_by(const Discs& discs, const works::Limits& limits) {
  works::Agreement agreement;
  for (const auto* disc : discs) count(agreement, *disc, is_held(*disc, limits));
  finish(agreement);
  return agreement;
}

/// Discs judged by limits learned from the others, and what of it the old limits say otherwise.
struct LeftOut {
  works::Agreement agreement;
  stats::Wins passed, failed;  ///< won: right by the learned limits, wrong by the old
};

LeftOut left_out(const Discs& discs, const LearnOptions& options) {
  LeftOut out;
  const std::size_t groups = std::min(discs.size(), most_groups);
  for (std::size_t group = 0; group < groups; ++group) {
    Discs others;
    for (std::size_t d = 0; d < discs.size(); ++d)
      if (d % groups != group) others.push_back(discs[d]);
    Search search{others, options};
    search.run();
    const works::Limits limits = search.limits(options.from);
    for (std::size_t d = group; d < discs.size(); d += groups) {
      const bool held = is_held(*discs[d], limits);
      count(out.agreement, *discs[d], held);
      if (held == is_held(*discs[d], options.from)) continue;
      stats::Wins& wins = discs[d]->passed ? out.passed : out.failed;
      ++(held != discs[d]->passed ? wins.won : wins.lost);
    }
  }
  finish(out.agreement);
  return out;
}

std::string why_held(const ListenedDisc& disc, const works::Limits& limits) {
  if (disc.measured.off_the_groove && !limits.jumps_allowed.value_or(true))
    return "the stylus left the groove";
  for (std::size_t m = 0; m < judged_count; ++m) {
    const auto& measure = judged_measures()[m];
    const auto limit = limit_of(limits, measure);
    const auto& value = disc.measured.values[m];
    if (limit && value && *value > *limit)
      return fmt::format(
          "{}: {}, limit {}", measure.name, shown(measure, *value), shown(measure, *limit));
  }
  return {};
}

/// Where the disc stands out most among those that passed.
std::string why_let_through(const ListenedDisc& disc, const Discs& discs) {
  std::size_t most = 0, of = 0, best = judged_count;
  for (std::size_t m = 0; m < judged_count; ++m) {
    const auto& value = disc.measured.values[m];
    if (!value || !std::isfinite(*value)) continue;
    std::size_t less = 0, all = 0;
    for (const auto* other : discs)
      if (const auto& figure = other->measured.values[m]; other->passed && figure) {
        ++all;
        if (*figure < *value) ++less;
      }
    if (all == 0 || (best != judged_count && less * of <= most * all)) continue;
    most = less;
    of = all;
    best = m;
  }
  if (best == judged_count || most == 0)
    return "within every limit, and nothing measured stands out; what did the listeners hear?";
  const auto& measure = judged_measures()[best];
  return fmt::format("within every limit; stands out by {}: {}, more than {} of {} passed discs",
                     measure.name,
                     shown(measure, *disc.measured.values[best]),
                     most,
                     of);
}

works::LearnedMeasure account(const Discs& discs,
                              std::size_t m,
                              const LearnOptions& options,
                              const works::LearnedLimits& learned,
                              int votes,
                              const std::string& why_none) {
  const auto& measure = judged_measures()[m];
  works::LearnedMeasure one{.rule = std::string{measure.rule},
                            .built_in = limit_of(options.from, measure),
                            .limit = limit_of(learned.limits, measure),
                            .discs = 0,
                            .gained = votes,
                            .why = why_none};
  for (const auto* disc : discs)
    if (disc->measured.values[m]) ++one.discs;
  if (!one.built_in)
    one.why = "not judged before, and not learned";
  else if (one.discs == 0)
    one.why = "kept: no report has a figure for it";
  else if (votes > 0)
    one.why = fmt::format("{} from {}: {} come right by it",
                          *one.limit < *one.built_in ? "tightened" : "loosened",
                          shown(measure, *one.built_in),
                          counted(votes, "disc", "discs"));
  else if (one.why.empty())
    one.why = fmt::format("kept: no other limit has {} discs on its side", least_votes);
  return one;
}

}  // namespace

works::LearnedLimits learn_limits(std::span<const ListenedDisc> all, const LearnOptions& options) {
  EXPECTS(options.missed_weighs > 0.0);
  works::LearnedLimits learned;
  learned.format = options.format;
  learned.missed_weighs = options.missed_weighs;
  Discs discs;
  for (const auto& disc : all)
    if (disc.measured.placed)
      discs.push_back(&disc);
    else
      learned.remarks.push_back(disc.path + ": the cut was not found in it; passed over");

  learned.limits = options.from;
  learned.built_in = agreement_by(discs, options.from);
  Search search{discs, options};
  std::string why_none;
  if (learned.built_in.passed < least_discs || learned.built_in.failed < least_discs) {
    why_none = fmt::format("kept: {} passed and {} failed, {} of each are needed to learn from",
                           counted(learned.built_in.passed, "disc", "discs"),
                           learned.built_in.failed,
                           least_discs);
  } else {
    const LeftOut out = left_out(discs, options);
    learned.left_out = out.agreement;
    if (stats::sign_test_chance(out.passed, out.failed, options.missed_weighs) <= luck)
      search.run();
    else
      why_none =
          "kept: on discs left out, learned limits agree no better than chance would with these";
    learned.limits = search.limits(options.from);
  }
  learned.learned = agreement_by(discs, learned.limits);
  for (std::size_t m = 0; m < judged_count; ++m)
    learned.measures.push_back(account(discs, m, options, learned, search.votes(m), why_none));
  for (const auto* disc : discs) {
    const bool held = is_held(*disc, learned.limits);
    if (held != disc->passed) continue;
    learned.misses.push_back(
        {.path = disc->path,
         .listeners_passed = disc->passed,
         .why = held ? why_held(*disc, learned.limits) : why_let_through(*disc, discs)});
  }
  return learned;
}

}  // namespace goodside::listen
