#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "works/holding.hpp"

namespace goodside::line {

/// Which discs of a run are meant.
struct Choice {
  std::string run;
  std::optional<works::Impressions> impressions{};  ///< without them the whole run
  std::optional<std::int64_t> quantity{};           ///< without it all that are there
  std::vector<works::Place> places{};               ///< empty: wherever they are in the house
  std::string at{};                                 ///< spindle, carton …; empty: any
  std::string reason{};                             ///< of scrap or suspect stock; empty: any
  /// Stock whose interval only partly lies in the one asked for may hold those discs or not: take
  /// all of it (a hold must), or refuse.
  bool all_that_may_be{};
};

/// The movements that take the chosen discs from where they are to where `to` says. Exact stock is
/// split at the ends of the interval. A quantity says nothing of which discs they are: they lie
/// anywhere in the interval, and must be at one spot. Errors: Fault::not_found where no such stock is there,
/// Fault::conflict where it is too little, or not known closely enough; the sentence says what to
/// give.
Result<std::vector<works::Movement>> choose_stock(
    const works::RunStock& stock,
    const Choice& choice,
    const std::function<works::Spot(const works::Spot&)>& to);

}  // namespace goodside::line
