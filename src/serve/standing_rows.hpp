#pragma once
#include <cstdint>
#include <optional>
#include <string_view>

#include "ledger/value.hpp"
#include "serve/standing.hpp"

namespace goodside::serve {

/// A cell that may be null.
[[nodiscard]] std::optional<double> real(const ledger::Value& value);
[[nodiscard]] std::optional<std::int64_t> maybe(const ledger::Value& value);

/// What the standing's own table of plays is asked for, and the play that its row is.
inline constexpr std::string_view play_columns =
    "report, capture, ticket, run, title, side, letter, stamper, mounting, \"first\", \"last\", "
    "title_first, play, after, pass, plain, slight, eccentricity_m, weighted_noise_dB, limits, "
    "at_ms";
[[nodiscard]] Play play_from_here(const ledger::Values& row);

}  // namespace goodside::serve
