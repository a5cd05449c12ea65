#pragma once
#include <span>
#include <vector>

#include "draw/words.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"
#include "works/trace_report.hpp"

namespace goodside::draw {

/// What is known of one disc at a recurring fault's place.
enum class PlaceHeard { fault, clean, not_heard };

/// The same for every disc of the family, in its order. A place outside what a play heard is not
/// heard there. Cost: linear in discs and plays.
[[nodiscard]] std::vector<PlaceHeard> place_heard(const works::Family&,
                                                  const works::RecurringFault&,
                                                  std::span<const works::HeardPlay>);

/// Triangle, filled circle, open circle.
[[nodiscard]] Standing shape(PlaceHeard);

}  // namespace goodside::draw
