#pragma once
#include <array>
#include <string_view>

#include "press/cycle.hpp"

namespace goodside::press {

/// How far a cycle stays within each limit; below nought it breaks it.
enum class Margin { radius, thickness, flow, overheat, set, dish };
inline constexpr std::size_t margin_count = 6;

struct Margins {
  /// Radius [m] that the whole charge would fill at the final gap over the disc's; thickness [m]
  /// within tolerance; flow, overheat, set [K]; dish [m].
  std::array<double, margin_count> value{};
  [[nodiscard]] double of(Margin one) const { return value[static_cast<std::size_t>(one)]; }
  /// The same over what matters of each: 1 mm, the tolerance, 5 K, the dish's limit.
  [[nodiscard]] std::array<double, margin_count> scaled(const CycleSetup&) const;
};
[[nodiscard]] Margins margins_of(const CycleSetup&, const CycleResult&);

/// The first limit that is broken, in the order in which it matters to the disc.
enum class Standing { works, short_fill, thick, cold, overheated, unset, dishes };
inline constexpr std::size_t standing_count = 7;
[[nodiscard]] Standing standing_of(const Margins&);
[[nodiscard]] std::string_view word(Standing);

}  // namespace goodside::press
