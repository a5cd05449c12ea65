#include "compound/cheapest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "compound/mixture.hpp"
#include "maths/linear_programme.hpp"

namespace goodside::compound {
namespace {

using maths::Found;
using maths::LinearProgramme;
using works::Bounds;
using works::Cheapest;
using works::Ingredient;
using works::Role;
using Term = LinearProgramme::Term;

constexpr double endless = LinearProgramme::endless;
constexpr double nought = 1e-9;

/// One bound of the recipe: a row, with what a breach is measured by and what loosening it is worth.
struct Limit {
  std::string text;
  std::vector<Term> terms;
  double low{-endless}, high{endless};
  double scale{1.0};  ///< a breach of this size counts as one
  double per_unit{};  ///< of the row's own unit in one `unit`
  std::string unit;
};

std::string percent(double share) {
  return fmt::format("{:.4g} %", 1e2 * share);
}

class Chooser {
 public:
  Chooser(const works::Recipe& recipe, const Ahead& ahead) : recipe_{recipe}, ahead_{ahead} {
    for (const auto& one : recipe.ingredients) moves_.push_back(may_move(one));
  }

  Outcome write_limits() {
    if (std::ranges::find(moves_, true) == moves_.end())
      return Error{Fault::bad_input,
                   "nothing in the recipe may move; give a role or an ingredient low and high"};
    for (std::size_t i = 0; i < moves_.size(); ++i) {
      const auto& one = recipe_.ingredients[i];
      if (moves_[i] && !one.price_per_kg && one.role != Role::regrind)
        return Error{Fault::bad_input,
                     fmt::format("{} may move and has no price; give one, or fix it by low = high",
                                 one.name)};
      if (moves_[i]) limit_ingredient(i);
      if (one.stock_kg && ahead_.mass_kg > 0.0) limit_stock(i);
    }
    for (const auto& role : recipe_.roles) limit_role(role);
    limit_density();
    if (const auto told = limit_binder(); !told) return told;
    for (const auto& property : recipe_.properties)
      if (const auto told = limit_property(property); !told) return told;
    return Done{};
  }

  Result<Cheapest> choose() const {
    Cheapest answer;
    answer.before = mixture(recipe_);
    answer.cost_before_per_kg = answer.before.cost_per_kg;
    const auto solution = programme(false).solve({.exactly = true});
    if (solution.found == Found::none) return broken(std::move(answer));
    if (!solution.is_feasible())
      return Error{Fault::not_converged,
                   "the cheapest recipe could not be solved; look at its bounds"};
    answer.found = true;
    std::vector<double> fractions;
    for (const double value : solution.values) fractions.push_back(value < 1e-12 ? 0.0 : value);
    tell(answer, fractions);
    for (std::size_t row = 0; row < limits_.size(); ++row) {
      const double worth = std::abs(solution.prices[row]) * limits_[row].per_unit;
      if (worth > 1e-9 * (1.0 + std::abs(solution.cost)))
        answer.held.push_back({limits_[row].text, worth, limits_[row].unit});
    }
    std::ranges::stable_sort(answer.held, std::ranges::greater{}, &Cheapest::Held::saves);
    return answer;
  }

 private:
  [[nodiscard]] bool has_bounds(Role role) const {
    return std::ranges::any_of(recipe_.roles, [&](const auto& one) {
      return one.role == role && (one.share.low || one.share.high);
    });
  }
  [[nodiscard]] bool may_move(const Ingredient& one) const {
    return one.share.low || one.share.high || has_bounds(one.role);
  }
  [[nodiscard]] static int index(std::size_t i) { return static_cast<int>(i); }

  void add(Limit limit, const Bounds& bounds, double factor = 1.0) {
    if (bounds.low) limit.low = *bounds.low * factor;
    if (bounds.high) limit.high = *bounds.high * factor;
    if (limit.low > -endless || limit.high < endless) limits_.push_back(std::move(limit));
  }
  static std::string told(const std::string& what, const Bounds& bounds, auto&& shown) {
    if (bounds.low && bounds.high)
      return fmt::format("{} from {} to {}", what, shown(*bounds.low), shown(*bounds.high));
    return bounds.low ? fmt::format("{} at least {}", what, shown(*bounds.low))
                      : fmt::format("{} at most {}", what, shown(*bounds.high));
  }

  void limit_ingredient(std::size_t i) {
    const auto& one = recipe_.ingredients[i];
    if (!one.share.low && !one.share.high) return;
    add({.text = told(one.name, one.share, percent),
         .terms = {{index(i), 1.0}},
         .scale = 0.01,
         .per_unit = 0.01,
         .unit = "for a point of per cent"},
        one.share);
  }
  void limit_stock(std::size_t i) {
    const auto& one = recipe_.ingredients[i];
    const double share = *one.stock_kg / ahead_.mass_kg;
    add({.text = fmt::format("{}: {:.6g} kg in stock", one.name, *one.stock_kg),
         .terms = {{index(i), wet_per_dry(one)}},
         .scale = 0.01,
         .per_unit = 1.0 / ahead_.mass_kg,
         .unit = "for a kilogram more"},
        {.low = {}, .high = share});
  }
  void limit_role(const works::RoleBounds& role) {
    if (!role.share.low && !role.share.high) return;
    Limit limit{.text = told(fmt::format("role {}", word(role.role)), role.share, percent),
                .terms = {},
                .scale = 0.01,
                .per_unit = 0.01,
                .unit = "for a point of per cent"};
    for (std::size_t i = 0; i < moves_.size(); ++i)
      if (recipe_.ingredients[i].role == role.role) limit.terms.push_back({index(i), 1.0});
    add(std::move(limit), role.share);
  }
  void limit_density() {
    const auto& bounds = recipe_.density_kg_per_m3;
    if (!bounds.low && !bounds.high) return;
    // In units of the present specific volume, so that the row is near 1.
    const double now = specific_volume_m3_per_kg(recipe_, fractions_of(recipe_));
    Limit limit{
        .text = told(
            "density", bounds, [](double one) { return fmt::format("{:.5g} g/cm3", one / 1e3); }),
        .terms = {},
        .scale = 0.01,
        .per_unit = 10.0 * now,
        .unit = "for 0.01 g/cm3"};
    for (std::size_t i = 0; i < moves_.size(); ++i)
      limit.terms.push_back({index(i), 1.0 / (recipe_.ingredients[i].density_kg_per_m3 * now)});
    if (bounds.high) limit.low = 1.0 / (*bounds.high * now);
    if (bounds.low) limit.high = 1.0 / (*bounds.low * now);
    limits_.push_back(std::move(limit));
  }

  /// A mean by volume of what `counts`: one row a side,  sum_i (w_i/rho_i)(q_i - bound) on its side of
  /// nought, in units of the present specific volume.
  void limit_volume_mean(const std::string& what,
                         const Bounds& bounds,
                         double per_unit,
                         const std::string& unit,
                         const std::vector<double>& quality,
                         const std::vector<bool>& counts,
                         auto&& shown) {
    const double now = specific_volume_m3_per_kg(recipe_, fractions_of(recipe_));
    for (const bool is_low : {true, false}) {
      const auto& bound = is_low ? bounds.low : bounds.high;
      if (!bound) continue;
      Limit limit{
          .text = fmt::format("{} at {} {}", what, is_low ? "least" : "most", shown(*bound)),
          .terms = {},
          .scale = std::max(0.01 * std::abs(*bound), 1e-6),
          .per_unit = per_unit,
          .unit = unit};
      for (std::size_t i = 0; i < moves_.size(); ++i)
        if (counts[i])
          limit.terms.push_back(
              {index(i), (quality[i] - *bound) / (recipe_.ingredients[i].density_kg_per_m3 * now)});
      (is_low ? limit.low : limit.high) = 0.0;
      limits_.push_back(std::move(limit));
    }
  }
  Outcome limit_binder() {
    const auto& bounds = recipe_.binder_volume;
    if (!bounds.low && !bounds.high) return Done{};
    std::vector<double> quality;
    std::vector<bool> counts;
    for (const auto& one : recipe_.ingredients) {
      if (one.role == Role::pellets)
        return Error{Fault::bad_input,
                     fmt::format("{} is bought compound, whose binder nobody told; leave "
                                 "binder_volume out",
                                 one.name)};
      quality.push_back(is_binder(one.role) ? 1.0 : 0.0);
      counts.push_back(one.role != Role::regrind);
    }
    limit_volume_mean(
        "binder by volume", bounds, 0.01, "for a point of per cent", quality, counts, percent);
    return Done{};
  }
  Outcome limit_property(const works::Property& property) {
    const auto& bounds = property.bounds;
    if (!bounds.low && !bounds.high) return Done{};
    std::vector<double> quality;
    for (std::size_t i = 0; i < moves_.size(); ++i) {
      const auto& one = recipe_.ingredients[i];
      const auto value = one.properties.find(property.name);
      if (value == one.properties.end() && (moves_[i] || one.fraction > 0.0))
        return Error{
            Fault::bad_input,
            fmt::format("{} has no {}, which is bounded; give it", one.name, property.name)};
      quality.push_back(value == one.properties.end() ? 0.0 : value->second);
    }
    const auto plain = [](double one) { return fmt::format("{:.5g}", one); };
    if (property.by_volume) {
      limit_volume_mean(property.name,
                        bounds,
                        1.0,
                        "for one of its units",
                        quality,
                        std::vector<bool>(moves_.size(), true),
                        plain);
      return Done{};
    }
    Limit limit{
        .text = told(property.name, bounds, plain),
        .terms = {},
        .scale = std::max(0.01 * std::abs(bounds.low.value_or(bounds.high.value_or(1.0))), 1e-6),
        .per_unit = 1.0,
        .unit = "for one of its units"};
    for (std::size_t i = 0; i < moves_.size(); ++i) limit.terms.push_back({index(i), quality[i]});
    add(std::move(limit), bounds);
    return Done{};
  }

  /// `elastic`: the cost is the sum of breaches, each in its limit's scale.
  [[nodiscard]] LinearProgramme programme(bool elastic) const {
    LinearProgramme all;
    std::vector<Term> sum;
    for (std::size_t i = 0; i < moves_.size(); ++i) {
      const auto& one = recipe_.ingredients[i];
      const double cost = one.price_per_kg.value_or(0.0) * wet_per_dry(one);
      all.add({.cost = elastic ? 0.0 : cost,
               .low = moves_[i] ? 0.0 : one.fraction,
               .high = moves_[i] ? 1.0 : one.fraction});
      sum.push_back({index(i), 1.0});
    }
    for (const auto& limit : limits_) {
      auto terms = limit.terms;
      if (elastic)
        for (const double side : {1.0, -1.0})
          terms.push_back({all.add({.cost = 1.0 / limit.scale}), side});
      all.constrain(terms, limit.low, limit.high);
    }
    all.constrain(sum, 1.0, 1.0);
    return all;
  }

  Result<Cheapest> broken(Cheapest answer) const {
    const auto solution = programme(true).solve({.exactly = true});
    if (!solution.is_feasible()) {
      answer.broken.push_back("what stays as it is leaves no room for what may move");
      return answer;
    }
    for (std::size_t row = 0; row < limits_.size(); ++row) {
      double reached = 0.0;
      for (const auto& [variable, factor] : limits_[row].terms)
        reached += factor * solution.values[static_cast<std::size_t>(variable)];
      const double breach = std::max(limits_[row].low - reached, reached - limits_[row].high);
      if (breach > nought * std::max(1.0, std::abs(reached)))
        answer.broken.push_back(limits_[row].text);
    }
    return answer;
  }

  void tell(Cheapest& answer, const std::vector<double>& fractions) const {
    answer.after = mixture(recipe_, fractions);
    double cost = 0.0;
    for (std::size_t i = 0; i < fractions.size(); ++i) {
      const auto& one = recipe_.ingredients[i];
      cost += one.price_per_kg.value_or(0.0) * wet_per_dry(one) * fractions[i];
      Cheapest::Line line{.ingredient = one.name,
                          .role = one.role,
                          .before = one.fraction,
                          .after = fractions[i],
                          .share = moves_[i] ? one.share : Bounds{one.fraction, one.fraction},
                          .needed_kg = {},
                          .stock_kg = one.stock_kg};
      if (ahead_.mass_kg > 0.0) line.needed_kg = fractions[i] * wet_per_dry(one) * ahead_.mass_kg;
      answer.lines.push_back(std::move(line));
    }
    answer.cost_per_kg = cost;
  }

  const works::Recipe& recipe_;
  const Ahead& ahead_;
  std::vector<bool> moves_;
  std::vector<Limit> limits_;
};

}  // namespace

Result<Cheapest> cheapest(const works::Recipe& recipe, const Ahead& ahead) {
  Chooser chooser{recipe, ahead};
  if (const auto written = chooser.write_limits(); !written) return written.error();
  return chooser.choose();
}

}  // namespace goodside::compound
