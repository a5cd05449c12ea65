#pragma once
#include <span>

#include "works/plating.hpp"

namespace goodside::metal {

/// nickel, copper, chromium, nickel-flash, chromium-flash: atomic weights [IUPAC2021], the rest as each
/// says in its `source`, mostly common practice. Weigh a part to know the efficiency of your own tank.
[[nodiscard]] std::span<const works::PlatingMetal> built_in_metals();

}  // namespace goodside::metal
