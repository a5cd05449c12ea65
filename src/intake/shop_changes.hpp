#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/shop.hpp"

namespace goodside::intake {

/// What if: changes to a works and its orders, as they are typed.
struct ShopChanges {
  std::vector<std::string>
      more;  ///< "press", "press=2", "press-hand=1": so many more of a station or of hands
  std::vector<std::string> due;  ///< "O-2=2026-12-16 14:00": another due date
  std::vector<std::string>
      hours;  ///< "press=two-shift", "press-2=mon-sat 06:00-22:00; sun 06:00-12:00", "ears=always"
};

/// Makes the changes. A machine more is as the station's first, with nothing on it and no closed spans; more of hands
/// work at the same time. Hours go to a station (all its machines), a machine or hands: one of the works' own, or
/// shifts. Errors: Fault::bad_input, naming the option: nothing is called so (the nearest is offered), no number, no
/// date, no shift.
Outcome change_shop(works::Shop& shop, const ShopChanges& changes);

}  // namespace goodside::intake
