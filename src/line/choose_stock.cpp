#include "line/choose_stock.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace goodside::line {
namespace {

using works::Holding;
using works::Impressions;
using works::Place;

bool in_house(Place place) {
  return place != Place::press && place != Place::shipped && place != Place::scrap &&
         place != Place::unaccounted;
}

bool meant(const Holding& holding, const Choice& choice) {
  if (holding.quantity <= 0) return false;
  if (!choice.at.empty() && holding.spot.at != choice.at) return false;
  if (!choice.reason.empty() && holding.spot.reason != choice.reason) return false;
  if (choice.impressions && !holding.impressions.meets(*choice.impressions)) return false;
  if (choice.places.empty()) return in_house(holding.spot.place);
  return std::find(choice.places.begin(), choice.places.end(), holding.spot.place) !=
         choice.places.end();
}

Impressions both(const Impressions& a, const Impressions& b) {
  return {std::max(a.first, b.first), std::min(a.last, b.last)};
}

std::string described(const Choice& choice) {
  std::string text = choice.run;
  if (choice.impressions)
    text += fmt::format(" {}–{}", choice.impressions->first, choice.impressions->last);
  for (std::size_t i = 0; i < choice.places.size(); ++i)
    text += fmt::format("{}{}", i == 0 ? " in " : " or ", word(choice.places[i]));
  if (!choice.at.empty()) text += " at " + choice.at;
  return text;
}

Error none_there(const Choice& choice) {
  return {Fault::not_found,
          fmt::format("there is no stock of {}; `goodside works where {}` shows what is where",
                      described(choice),
                      choice.run)};
}

using To = std::function<works::Spot(const works::Spot&)>;

/// All that is there of the chosen stock, holding by holding.
Result<std::vector<works::Movement>> all_of(const std::vector<Holding>& there,
                                            const Choice& choice,
                                            const To& to) {
  std::vector<works::Movement> movements;
  for (const Holding& holding : there) {
    Impressions part =
        choice.impressions ? both(holding.impressions, *choice.impressions) : holding.impressions;
    const bool unsure = !holding.exact() && part != holding.impressions;
    if (unsure && !choice.all_that_may_be)
      return Error{
          Fault::conflict,
          fmt::format("{} discs {} are only known to lie in impressions {}–{}, so how many "
                      "of them are {}–{} is not known; count them and give --quantity",
                      holding.quantity,
                      word(holding.spot.place),
                      holding.impressions.first,
                      holding.impressions.last,
                      part.first,
                      part.last)};
    if (unsure) part = holding.impressions;
    movements.push_back({choice.run,
                         part,
                         holding.exact() ? part.width() : holding.quantity,
                         holding.spot,
                         to(holding.spot)});
  }
  return movements;
}

/// So many discs, of which no more is known than the interval that they lie in.
Result<std::vector<works::Movement>> some_of(const std::vector<Holding>& there,
                                             const Choice& choice,
                                             const To& to) {
  std::int64_t found = 0;
  bool one_spot = true;
  Impressions hull = there.front().impressions;
  for (const Holding& holding : there) {
    const Impressions part =
        choice.impressions ? both(holding.impressions, *choice.impressions) : holding.impressions;
    found += std::min(holding.quantity, part.width());
    one_spot = one_spot && holding.spot == there.front().spot;
    hull = {std::min(hull.first, part.first), std::max(hull.last, part.last)};
  }
  if (found < *choice.quantity)
    return Error{Fault::conflict,
                 fmt::format("only {} discs of {} are there, not {}; `goodside works where {}` "
                             "shows what is where",
                             found,
                             described(choice),
                             *choice.quantity,
                             choice.run)};
  if (found == *choice.quantity) {
    Choice all = choice;
    all.all_that_may_be = false;
    if (auto movements = all_of(there, all, to)) return movements;
  }
  if (!one_spot)
    return Error{Fault::conflict,
                 fmt::format("discs of {} are in several places; say from which with --from or "
                             "--from-spot",
                             described(choice))};
  if (choice.impressions) hull = both(hull, *choice.impressions);
  return std::vector<works::Movement>{
      {choice.run, hull, *choice.quantity, there.front().spot, to(there.front().spot)}};
}

}  // namespace

Result<std::vector<works::Movement>> choose_stock(const works::RunStock& stock,
                                                  const Choice& choice,
                                                  const To& to) {
  std::vector<Holding> there;
  for (const Holding& holding : stock.holdings())
    if (meant(holding, choice)) there.push_back(holding);
  if (there.empty()) return none_there(choice);
  return choice.quantity ? some_of(there, choice, to) : all_of(there, choice, to);
}

}  // namespace goodside::line
