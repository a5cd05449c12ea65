#pragma once
#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::line {

// UTC milliseconds, read and shown in the zone that the program runs in (the shell sets the works').

/// `2026-11-25`, `2026-11-25 14:30`, with seconds, with `T` between, or with `Z` at the end for UTC.
/// Years 1900 to 2999. Errors: Fault::bad_input.
Result<std::int64_t> read_instant(std::string_view text);

/// Seconds since 1970-01-01 00:00 on the zone's own clock.
[[nodiscard]] std::int64_t local_s(std::int64_t utc_ms);

/// `2026-11-25 14:30`.
[[nodiscard]] std::string shown_instant(std::int64_t utc_ms);
/// `2026-11-25`.
[[nodiscard]] std::string shown_day(std::int64_t utc_ms);
/// `2026-11-25T13:30:00.000Z`: for exports.
[[nodiscard]] std::string utc_instant(std::int64_t utc_ms);

}  // namespace goodside::line
