#include "compound/correction.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "compound/mixture.hpp"
#include "compound/weigh_up.hpp"
#include "maths/linear_programme.hpp"

namespace goodside::compound {
namespace {

using maths::Found;
using maths::LinearProgramme;
using works::Correction;
using Term = LinearProgramme::Term;

constexpr double endless = LinearProgramme::endless;
constexpr double rounding = 1e-9;

/// A batch in shares of its sheet's dry mass, ingredient by ingredient in the recipe's order.
struct Bowl {
  std::vector<double> in_it, wanted, tolerance,
      volume;                 ///< volume: of a share, by the mean density
  std::vector<double> stock;  ///< that can still be added; endless: open
  double most_volume{endless};
  double total{};

  [[nodiscard]] std::size_t size() const { return in_it.size(); }
  [[nodiscard]] double filled() const {
    double sum = 0.0;
    for (std::size_t i = 0; i < size(); ++i) sum += in_it[i] * volume[i];
    return sum;
  }
};

/// Largest |m_i - f_i M|/(t_i M) of a mix.
double worst_share(const Bowl& bowl, const std::vector<double>& masses) {
  double total = 0.0, worst = 0.0;
  for (const double mass : masses) total += mass;
  for (std::size_t i = 0; i < masses.size(); ++i)
    worst =
        std::max(worst, std::abs(masses[i] - bowl.wanted[i] * total) / (bowl.tolerance[i] * total));
  return worst;
}

std::vector<double> sums(const std::vector<double>& a, const std::vector<double>& b) {
  std::vector<double> all;
  for (std::size_t i = 0; i < a.size(); ++i) all.push_back(a[i] + b[i]);
  return all;
}

/// Rows that keep  m_i - (f_i -+ aim t_i) M  on its side of nought, m_i = w_i (1 - out) + step_i x_i,
/// and the bowl. `out` is the index of the share taken out, or -1. Rows are written in units of the
/// largest step, since the solver's own tolerance is a share of what stands in them.
void keep_within(LinearProgramme& programme,
                 const Bowl& bowl,
                 const std::vector<double>& step,
                 double aim,
                 int out) {
  const int n = static_cast<int>(bowl.size());
  const double unit = 1.0 / *std::ranges::max_element(step);
  for (const double side : {-1.0, 1.0})
    for (std::size_t i = 0; i < bowl.size(); ++i) {
      const double share = bowl.wanted[i] + side * aim * bowl.tolerance[i];
      const double rest = unit * (bowl.in_it[i] - share * bowl.total);
      std::vector<Term> terms;
      for (int j = 0; j < n; ++j)
        terms.push_back({j,
                         unit * step[static_cast<std::size_t>(j)] *
                             ((static_cast<std::size_t>(j) == i ? 1.0 : 0.0) - share)});
      if (out >= 0) terms.push_back({out, -rest});
      if (side < 0.0)
        programme.constrain(terms, -rest, endless);
      else
        programme.constrain(terms, -endless, -rest);
    }
  if (bowl.most_volume == endless) return;
  std::vector<Term> terms;
  for (int j = 0; j < n; ++j)
    terms.push_back(
        {j, unit * step[static_cast<std::size_t>(j)] * bowl.volume[static_cast<std::size_t>(j)]});
  if (out >= 0) terms.push_back({out, -unit * bowl.filled()});
  programme.constrain(terms, -endless, unit * (bowl.most_volume - bowl.filled()));
}

/// The least addition within `aim`; nothing where there is none. Additions [ingredients].
Result<std::optional<std::vector<double>>> least_addition(const Bowl& bowl, double aim) {
  LinearProgramme programme;
  for (std::size_t i = 0; i < bowl.size(); ++i)
    programme.add({.cost = 1.0, .high = bowl.wanted[i] > 0.0 ? bowl.stock[i] : 0.0});
  keep_within(programme, bowl, std::vector<double>(bowl.size(), 1.0), aim, -1);
  auto solution = programme.solve({.exactly = true});
  if (solution.found == Found::none) return std::optional<std::vector<double>>{};
  if (!solution.is_feasible())
    return Error{Fault::not_converged,
                 "the correction could not be solved; look at the recipe's figures"};
  return std::optional{std::move(solution.values)};
}

/// The mix whose worst share is the smallest, and of such mixes the one with the least addition, in
/// y_i = m_i/M = w_i s + z_i, s = 1/M; or nothing.
std::optional<std::vector<double>> nearest_addition(const Bowl& bowl) {
  const int n = static_cast<int>(bowl.size()), s = n, worst = n + 1;
  double most_share = endless;
  std::vector<double> additions;
  for (const bool is_second : {false, true}) {
    LinearProgramme programme;
    for (std::size_t i = 0; i < bowl.size(); ++i)
      programme.add({.high = bowl.wanted[i] > 0.0 ? endless : 0.0});
    programme.add({.cost = is_second ? -1.0 : 0.0});
    programme.add({.cost = is_second ? 0.0 : 1.0, .high = most_share});
    std::vector<Term> whole{{s, bowl.total}}, filled;
    for (int i = 0; i < n; ++i) {
      const auto at = static_cast<std::size_t>(i);
      programme.constrain(
          {{i, 1.0}, {s, bowl.in_it[at]}, {worst, -bowl.tolerance[at]}}, -endless, bowl.wanted[at]);
      programme.constrain(
          {{i, 1.0}, {s, bowl.in_it[at]}, {worst, bowl.tolerance[at]}}, bowl.wanted[at], endless);
      if (bowl.stock[at] < endless)
        programme.constrain({{i, 1.0}, {s, -bowl.stock[at]}}, -endless, 0.0);
      whole.push_back({i, 1.0});
      filled.push_back({i, bowl.volume[at]});
    }
    programme.constrain(whole, 1.0, 1.0);
    if (bowl.most_volume < endless) {
      filled.push_back({s, bowl.filled() - bowl.most_volume});
      programme.constrain(filled, -endless, 0.0);
    }
    const auto solution = programme.solve({.exactly = true});
    if (!solution.is_feasible()) break;
    most_share = solution.values[static_cast<std::size_t>(worst)] * (1.0 + rounding) + 1e-12;
    additions.clear();
    for (int i = 0; i < n; ++i)
      additions.push_back(solution.values[static_cast<std::size_t>(i)] /
                          solution.values[static_cast<std::size_t>(s)]);
  }
  if (additions.empty()) return std::nullopt;
  return additions;
}

struct TakenOut {
  double share;
  std::vector<double> additions;
};

/// The least share of the mix to take out so that additions restore the rest.
std::optional<TakenOut> least_taken_out(const Bowl& bowl, double aim) {
  const int n = static_cast<int>(bowl.size());
  double most_out = 1.0;
  std::optional<TakenOut> found;
  for (const bool is_second : {false, true}) {
    LinearProgramme programme;
    for (std::size_t i = 0; i < bowl.size(); ++i)
      programme.add(
          {.cost = is_second ? 1.0 : 0.0, .high = bowl.wanted[i] > 0.0 ? bowl.stock[i] : 0.0});
    const int out = programme.add({.cost = is_second ? 0.0 : 1.0, .high = most_out});
    keep_within(programme, bowl, std::vector<double>(bowl.size(), 1.0), aim, out);
    const auto solution = programme.solve({.exactly = true});
    if (!solution.is_feasible()) return found;
    most_out = std::min(1.0, solution.values[static_cast<std::size_t>(n)] * (1.0 + rounding));
    found = TakenOut{solution.values[static_cast<std::size_t>(n)],
                     {solution.values.begin(), solution.values.begin() + n}};
  }
  return found;
}

class Corrector {
 public:
  Corrector(const works::Recipe& recipe,
            const works::WeighUp& sheet,
            const CorrectionLimits& limits)
      : recipe_{recipe}, sheet_{sheet}, limits_{limits} {}

  void fill(std::span<const works::Weighed> weighed) {
    const double mean_volume = sheet_.volume_m3 / sheet_.batch_kg;
    for (const auto& one : recipe_.ingredients) {
      const auto said = std::ranges::find(weighed, one.name, &works::Weighed::ingredient);
      const double wet_kg = said == weighed.end() ? 0.0 : said->mass_kg;
      const double dry = 1.0 / (wet_per_dry(one) * sheet_.batch_kg);
      const auto line = std::ranges::find(sheet_.lines, one.name, &works::WeighLine::ingredient);
      bowl_.in_it.push_back(wet_kg * dry);
      bowl_.wanted.push_back(one.fraction);
      bowl_.tolerance.push_back(line == sheet_.lines.end() ? tolerance_share_of_batch(one, 0.0)
                                                           : line->tolerance_kg * dry);
      bowl_.volume.push_back(1.0 / (one.density_kg_per_m3 * mean_volume));
      bowl_.stock.push_back(one.stock_kg ? std::max(0.0, *one.stock_kg - wet_kg) * dry : endless);
      bowl_.total += bowl_.in_it.back();
    }
    if (limits_.most_volume_m3) bowl_.most_volume = *limits_.most_volume_m3 / sheet_.volume_m3;
  }

  Result<Correction> correct() {
    if (bowl_.total <= 0.0)
      return Error{Fault::bad_input, "nothing was weighed yet; give what the scale said"};
    Correction correction;
    if (bowl_.filled() > bowl_.most_volume) {
      correction.why.push_back(
          fmt::format("{:.4g} l are in the bowl already, and it holds {:.4g} l at its highest fill",
                      litres(bowl_.filled()),
                      litres(bowl_.most_volume)));
      bowl_.most_volume = bowl_.filled();
    }
    const auto least = least_addition(bowl_, limits_.aim);
    if (!least) return least.error();
    if (*least) {
      double sum = 0.0;
      for (const double one : **least) sum += one;
      correction.kind = sum > 1e-12 ? Correction::Kind::restores : Correction::Kind::none_needed;
      tell(correction, **least);
      return correction;
    }
    const auto nearest = nearest_addition(bowl_);
    if (!nearest)
      return Error{Fault::not_converged,
                   "the nearest mix could not be solved; look at the recipe's figures"};
    correction.kind = Correction::Kind::nearest;
    if (const auto told = tell_why(correction); !told) return told.error();
    tell(correction, *nearest);
    return correction;
  }

 private:
  [[nodiscard]] double litres(double volume) const { return 1e3 * volume * sheet_.volume_m3; }
  [[nodiscard]] double wet_kg(std::size_t i, double share) const {
    return share * sheet_.batch_kg * wet_per_dry(recipe_.ingredients[i]);
  }
  [[nodiscard]] double share_of(std::size_t i, double wet_kg) const {
    return wet_kg / (sheet_.batch_kg * wet_per_dry(recipe_.ingredients[i]));
  }

  /// Each addition to its scale's division, by whole numbers where plain rounding leaves a tolerance.
  [[nodiscard]] std::vector<double> rounded(const std::vector<double>& additions,
                                            double aim) const {
    std::vector<double> steps, plain;
    bool has_division = true;
    for (std::size_t i = 0; i < additions.size(); ++i) {
      const double kg = wet_kg(i, additions[i]);
      const double division = weighing_of(recipe_, kg).division_kg;
      has_division = has_division && division > 0.0;
      const double most = wet_kg(i, bowl_.stock[i]);
      const double nearest = rounded_to(kg, division);
      plain.push_back(nearest > most + rounding ? rounded_to(nearest - division, division)
                                                : nearest);
      steps.push_back(share_of(i, division));
    }
    if (!has_division || keeps(plain, aim)) return plain;
    // What is added anyway first: nobody likes to weigh a pinch of everything.
    for (const bool of_all : {false, true})
      if (auto whole = in_divisions(additions, steps, aim, of_all); !whole.empty()) return whole;
    return plain;
  }

  /// The least addition in whole divisions, of what `additions` hold or of all; empty where there is none.
  [[nodiscard]] std::vector<double> in_divisions(const std::vector<double>& additions,
                                                 const std::vector<double>& steps,
                                                 double aim,
                                                 bool of_all) const {
    LinearProgramme programme;
    for (std::size_t i = 0; i < additions.size(); ++i) {
      // A few divisions about the exact answer are room enough.
      const double exact = additions[i] / steps[i];
      const double high = std::min(std::ceil(exact) + 20.0, bowl_.stock[i] / steps[i]);
      const bool may = bowl_.wanted[i] > 0.0 && (of_all || additions[i] > 0.0);
      programme.add({.cost = steps[i] / *std::ranges::max_element(steps),
                     .high = may ? std::floor(high + rounding) : 0.0,
                     .whole = true});
    }
    // A hair inside, so that the solver's tolerance stays inside too.
    keep_within(programme, bowl_, steps, aim * (1.0 - 1e-6), -1);
    const auto solution = programme.solve({.time_s = 20.0, .gap = 1e-6, .nodes = 2000});
    if (!solution.is_feasible()) return {};
    std::vector<double> whole;
    for (std::size_t i = 0; i < additions.size(); ++i)
      whole.push_back(rounded_to(wet_kg(i, solution.values[i] * steps[i]),
                                 weighing_of(recipe_, wet_kg(i, additions[i])).division_kg));
    return keeps(whole, aim) ? whole : std::vector<double>{};
  }

  [[nodiscard]] std::vector<double> mass_with(const std::vector<double>& weighed_kg) const {
    std::vector<double> shares;
    for (std::size_t i = 0; i < weighed_kg.size(); ++i)
      shares.push_back(share_of(i, weighed_kg[i]));
    return sums(bowl_.in_it, shares);
  }
  [[nodiscard]] bool keeps(const std::vector<double>& weighed_kg, double aim) const {
    const auto masses = mass_with(weighed_kg);
    double volume = 0.0;
    for (std::size_t i = 0; i < masses.size(); ++i) volume += masses[i] * bowl_.volume[i];
    return worst_share(bowl_, masses) <= aim * (1.0 + 1e-7) &&
           volume <= bowl_.most_volume * (1.0 + rounding);
  }

  void tell(Correction& correction, const std::vector<double>& additions) {
    const bool restores = correction.kind == Correction::Kind::restores;
    std::vector<double> clean = additions;
    for (double& one : clean)
      if (one < 1e-14) one = 0.0;
    std::vector<double> weighed_kg(clean.size(), 0.0);
    if (restores) {
      weighed_kg = rounded(clean, limits_.aim);
    } else if (correction.kind == Correction::Kind::nearest) {
      for (std::size_t i = 0; i < clean.size(); ++i)
        weighed_kg[i] =
            rounded_to(wet_kg(i, clean[i]), weighing_of(recipe_, wet_kg(i, clean[i])).division_kg);
    }
    const auto exact = sums(bowl_.in_it, clean), masses = mass_with(weighed_kg);
    correction.worst_share = worst_share(bowl_, exact);
    correction.worst_share_weighed = worst_share(bowl_, masses);
    double total = 0.0, volume = 0.0;
    for (std::size_t i = 0; i < masses.size(); ++i) {
      total += masses[i];
      volume += masses[i] * bowl_.volume[i];
    }
    for (std::size_t i = 0; i < masses.size(); ++i) {
      correction.add_kg += wet_kg(i, clean[i]);
      correction.lines.push_back(
          {.ingredient = recipe_.ingredients[i].name,
           .add_kg = wet_kg(i, clean[i]),
           .add_weighed_kg = weighed_kg[i],
           .final_fraction = masses[i] / total,
           .share_of_tolerance =
               std::abs(masses[i] / total - bowl_.wanted[i]) / bowl_.tolerance[i]});
    }
    correction.batch_kg = total * sheet_.batch_kg;
    correction.volume_m3 = volume * sheet_.volume_m3;
  }

  /// Loosens bowl and stock in turn to see which of them stands in the way.
  Outcome tell_why(Correction& correction) {
    Bowl no_bowl = bowl_, no_stock = bowl_, neither = bowl_;
    no_bowl.most_volume = neither.most_volume = endless;
    no_stock.stock = neither.stock = std::vector<double>(bowl_.size(), endless);
    const auto unbounded = least_addition(neither, limits_.aim);
    if (!unbounded) return unbounded.error();
    if (!*unbounded) {
      correction.why.push_back(
          "something is in the bowl that the recipe has not, and cannot be thinned away");
      return Done{};
    }
    double more_kg = 0.0, volume = bowl_.filled();
    for (std::size_t i = 0; i < bowl_.size(); ++i) {
      more_kg += wet_kg(i, (**unbounded)[i]);
      volume += (**unbounded)[i] * bowl_.volume[i];
      if ((**unbounded)[i] > bowl_.stock[i] * (1.0 + rounding))
        correction.why.push_back(
            fmt::format("{}: {:.4g} kg more would put it right, and {:.4g} kg are left",
                        recipe_.ingredients[i].name,
                        wet_kg(i, (**unbounded)[i]),
                        wet_kg(i, bowl_.stock[i])));
    }
    if (volume > bowl_.most_volume * (1.0 + rounding)) {
      correction.why.push_back(fmt::format(
          "{:.4g} kg more would put it right, {:.4g} l in all, and the bowl holds {:.4g} l at its "
          "highest fill",
          more_kg,
          litres(volume),
          litres(bowl_.most_volume)));
      tell_taking_out(correction);
    }
    if (correction.why.empty())
      correction.why.push_back("bowl and stock together leave no room for what would put it right");
    return Done{};
  }

  void tell_taking_out(Correction& correction) const {
    const auto out = least_taken_out(bowl_, limits_.aim);
    if (!out || out->share >= 1.0 - rounding) return;
    correction.take_out_kg = out->share * bowl_.total * sheet_.batch_kg;
    std::vector<double> masses;
    double total = 0.0;
    for (std::size_t i = 0; i < bowl_.size(); ++i) {
      masses.push_back(bowl_.in_it[i] * (1.0 - out->share) + out->additions[i]);
      total += masses.back();
    }
    for (std::size_t i = 0; i < bowl_.size(); ++i) {
      const double kg = wet_kg(i, out->additions[i]);
      correction.after_taking_out.push_back(
          {.ingredient = recipe_.ingredients[i].name,
           .add_kg = kg,
           .add_weighed_kg = rounded_to(kg, weighing_of(recipe_, kg).division_kg),
           .final_fraction = masses[i] / total,
           .share_of_tolerance =
               std::abs(masses[i] / total - bowl_.wanted[i]) / bowl_.tolerance[i]});
    }
  }

  const works::Recipe& recipe_;
  const works::WeighUp& sheet_;
  const CorrectionLimits& limits_;
  Bowl bowl_;
};

}  // namespace

Result<Correction> correction(const works::Recipe& recipe,
                              const works::WeighUp& sheet,
                              std::span<const works::Weighed> weighed,
                              const CorrectionLimits& limits) {
  if (const auto said = deviations(recipe, sheet, weighed); !said) return said.error();
  if (!(limits.aim > 0.0 && limits.aim <= 1.0))
    return Error{Fault::bad_input,
                 fmt::format("an aim of {:g} cannot be; give a share of the tolerance above 0, at "
                             "most 1",
                             limits.aim)};
  Corrector corrector{recipe, sheet, limits};
  corrector.fill(weighed);
  return corrector.correct();
}

}  // namespace goodside::compound
