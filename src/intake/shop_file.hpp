#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/shop.hpp"

namespace goodside::intake {

/// What a works has to plan with and to do, from TOML with the tables hours, stations, machines, hands, routes,
/// titles, orders and running: docs/schedule.md has every key. Dates are the works' own clock. Steps are put in an
/// order in which each comes after those it waits for.
/// With `record`, the book of orders comes from the works' record: what a table under orders, titles or the top leaves
/// out stands as nothing (now 0, quantity 0, due 0, sets 0, spares -1, life -1), to be filled in from there.
/// Errors: Fault::bad_input naming file, line and key: a key that is not known (the nearest is offered), a value of
/// the wrong kind or size, a date or shift that cannot be read, steps that wait for one another in a circle.
Result<works::Shop> shop_from_toml(std::string_view text,
                                   const std::string& shown_name,
                                   bool record = false);
Result<works::Shop> read_shop(const std::string& path, bool record = false);

/// 2026-11-25, or 2026-11-25 14:30, on the works' own clock.
[[nodiscard]] std::optional<std::int64_t> shop_instant_s(std::string_view text);
/// "mon-fri 06:00-14:00", "sat 06:00-12:00", "mon,wed 22:00-06:00" (into the next day).
[[nodiscard]] std::optional<works::ShopShift> shop_shift(std::string_view text);

}  // namespace goodside::intake
