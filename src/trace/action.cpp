#include "trace/action.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <iterator>
#include <vector>

namespace goodside::trace {
namespace {

using works::Remedy;
using works::StockRemedy;

constexpr double wash_takes_grit = 0.9, wash_takes_stamper = 0.2;

/// Probability that a fault of each level still acts, and that washing would take it.
struct Acting {
  std::array<double, level_count> by_level{};
  double washed{};
  [[nodiscard]] double of(Level level) const { return by_level[static_cast<std::size_t>(level)]; }
};

Acting still_acting(const Attribution& why) {
  Acting acting;
  for (const Weighed& cause : why.causes) {
    const double share = cause.posterior * (1.0 - cause.ends);
    acting.by_level[static_cast<std::size_t>(cause.level)] += share;
    if (cause.level == Level::mounting) acting.washed += wash_takes_grit * share;
    // What a stamper was grown with is metal; what came to it later may be dirt.
    if (cause.level == Level::stamper)
      acting.washed += wash_takes_stamper * (1.0 - cause.since_birth) * share;
  }
  return acting;
}

double left_by(Remedy remedy, const Acting& acting) {
  const double cut = acting.of(Level::cut), father = acting.of(Level::father),
               mother = acting.of(Level::mother);
  const double rest = acting.of(Level::press) + acting.of(Level::batch);
  const double all =
      cut + father + mother + acting.of(Level::stamper) + acting.of(Level::mounting) + rest;
  switch (remedy) {
    case Remedy::leave:
      return all;
    case Remedy::wash:
      return all - acting.washed;
    case Remedy::pull_stamper:
    case Remedy::new_from_mother:
      return cut + father + mother + rest;
    case Remedy::back_to_father:
      return cut + father + rest;
    case Remedy::new_cut:
      return rest;
  }
  return 0.0;
}

std::string words_of(Remedy remedy, const works::RecurringFault& fault) {
  const std::string& id = fault.cause.id;
  switch (remedy) {
    case Remedy::leave:
      return "leave it";
    case Remedy::wash:
      return "clean the mould, wash the stamper and mount it again";
    case Remedy::pull_stamper:
    case Remedy::new_from_mother:
      return fault.cause.level == works::CauseLevel::stamper
                 ? fmt::format("pull stamper {} and grow another from its mother", id)
                 : "pull the stamper and grow another from its mother";
    case Remedy::back_to_father:
      return fault.cause.level == works::CauseLevel::mother
                 ? fmt::format("withdraw mother {} and grow another from the father", id)
                 : "grow another mother from the father";
    case Remedy::new_cut:
      return "cut again: the fault is in the first metal";
  }
  return {};
}

std::string words_of(StockRemedy remedy, const works::SuspectStock& stock) {
  const char* s = stock.discs == 1 ? "" : "s";
  switch (remedy) {
    case StockRemedy::ship:
      return "let the stock go";
    case StockRemedy::inspect:
      return fmt::format("spot-hear the {} suspect disc{}", stock.discs, s);
    case StockRemedy::scrap:
      return fmt::format("scrap the {} suspect disc{}", stock.discs, s);
  }
  return {};
}

/// Each remedy with what follows where it was not enough: the first disc after it is spot-heard, and
/// the next is chosen as cheaply, up to the cut. `all_out`: every disc to come goes out with it.
std::vector<works::RemedyCost> remedies_by_cost(const Acting& acting,
                                                const works::TraceCosts& costs,
                                                double all_out) {
  const struct {
    Remedy remedy;
    double cost;
  } ladder[] = {{Remedy::wash, costs.wash},
                {Remedy::new_from_mother, costs.new_stamper},
                {Remedy::back_to_father, costs.new_mother},
                {Remedy::new_cut, costs.new_father}};
  // The ladder is climbed only while the fault acts; whether it still does is for `leave`.
  const double acts = left_by(Remedy::leave, acting);
  const auto left_by_step = [&](Remedy remedy) {
    return acts > 0.0 ? left_by(remedy, acting) / acts : 0.0;
  };
  const double look = costs.spot_hear_min * costs.minute;
  std::vector<works::RemedyCost> all{{Remedy::leave, acts * all_out}};
  std::vector<double> after(std::size(ladder));  // expected, from what the look has shown
  for (std::size_t r = std::size(ladder); r-- > 0;) {
    const double left = left_by_step(ladder[r].remedy);
    double then = left * all_out;
    for (std::size_t h = r + 1; h < std::size(ladder); ++h)
      then = std::min(then, left * (ladder[h].cost + look) + after[h]);
    after[r] = then;
  }
  for (std::size_t r = 0; r < std::size(ladder); ++r)
    all.push_back({ladder[r].remedy, ladder[r].cost + look + after[r]});
  return all;
}

}  // namespace

works::Action action_for(const FamilyIndex&,
                         const Attribution& why,
                         const works::RecurringFault& fault,
                         const works::TraceCosts& costs) {
  works::Action action;
  const double out =
      fault.audibility == works::Audibility::plain ? costs.flawed_disc_out : costs.slight_disc_out;
  action.remedies = remedies_by_cost(still_acting(why), costs, costs.discs_to_come * out);
  const auto discs = static_cast<double>(fault.suspect.discs);
  action.stock = {
      {StockRemedy::ship, fault.suspect.flawed * out},
      {StockRemedy::inspect, discs * costs.inspect_disc + fault.suspect.flawed * costs.disc},
      {StockRemedy::scrap, discs * costs.disc}};
  const auto by_cost = [](const auto& a, const auto& b) { return a.cost < b.cost; };
  std::stable_sort(action.remedies.begin(), action.remedies.end(), by_cost);
  std::stable_sort(action.stock.begin(), action.stock.end(), by_cost);
  action.cost = action.remedies.front().cost + action.stock.front().cost;
  action.text = words_of(action.remedies.front().remedy, fault) + "; " +
                words_of(action.stock.front().remedy, fault.suspect);
  if (action.remedies.front().remedy != Remedy::leave)
    action.caution =
        "Stop the press, lock it off and let mould and stamper cool before a hand goes in; metal "
        "edges cut. Your own works' rules come first.";
  return action;
}

}  // namespace goodside::trace
