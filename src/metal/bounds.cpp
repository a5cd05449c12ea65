#include "metal/bounds.hpp"

#include <fmt/format.h>

namespace goodside::metal {

Outcome within(std::string_view whose, std::span<const Bounds> bounds) {
  for (const Bounds& one : bounds)
    if (!(one.value >= one.low && one.value <= one.high))
      return Error{Fault::out_of_range,
                   fmt::format("{}{}, {:g}, cannot be; give one from {:g} to {:g}",
                               whose,
                               one.name,
                               one.value,
                               one.low,
                               one.high)};
  return Done{};
}

}  // namespace goodside::metal
