#pragma once
#include <span>
#include <string_view>

#include "base/result.hpp"

namespace goodside::metal {

/// A figure and what it may be.
struct Bounds {
  const char* name;
  double value, low, high;
};

/// Errors: Fault::out_of_range for the first that lies outside or is no number, named with `whose` before it.
[[nodiscard]] Outcome within(std::string_view whose, std::span<const Bounds> bounds);

}  // namespace goodside::metal
