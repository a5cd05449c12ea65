#pragma once
#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "base/expects.hpp"

namespace goodside::maths {

/// The middle value; of an even number the upper of the two. Takes its own copy to sort in; O(n). Not of nothing.
template <class Number>
[[nodiscard]] Number median(std::vector<Number> values) {
  EXPECTS(!values.empty());
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::ranges::nth_element(values, middle);
  return *middle;
}

/// The same, or `otherwise` where there is nothing.
template <class Number>
[[nodiscard]] Number median_or(std::vector<Number> values, Number otherwise) {
  return values.empty() ? otherwise : median(std::move(values));
}

}  // namespace goodside::maths
