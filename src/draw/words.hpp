#pragma once
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "works/listening_report.hpp"

namespace goodside::draw {

// How the trade says what a report holds; terminal, pictures and papers say it alike.

[[nodiscard]] std::string_view word(works::FaultKind);
[[nodiscard]] std::string_view word(works::PatternKind);
[[nodiscard]] std::string_view word(works::FaultChannel);
[[nodiscard]] std::string_view word(works::Plane);
[[nodiscard]] std::string_view word(works::Audibility);
[[nodiscard]] std::string_view word(works::Nature);

/// Minutes, seconds and milliseconds: "1:23.456", with the sign before it; hours run on as minutes.
[[nodiscard]] std::string clock_ms(double time_s);
/// Minutes and seconds: "1:23".
[[nodiscard]] std::string clock_s(double time_s);
/// Two figures, what a hand at the press can use: 970, 1400.
[[nodiscard]] std::string closings(double count);
/// "3:12.4": as far as a hand sets a needle down.
[[nodiscard]] std::string clock_tenths(double time_s);

/// Whole degrees from 0 to 359: "0°" for 359.7.
[[nodiscard]] std::string degrees(double angle_deg);

/// What the verdict is at a glance.
enum class Standing { good, out, not_this_cut, unjudged };
[[nodiscard]] Standing standing(const works::ListeningReport&);
/// "Within limits", "Outside limits", "Not this cut", "Heard without its cut".
[[nodiscard]] std::string_view word(Standing);

/// The last part of a path.
[[nodiscard]] std::string file_name(std::string_view path);

/// Indices into `faults` from the worst: jumps and repeats first, then plain before slight, then by
/// peak level.
[[nodiscard]] std::vector<std::size_t> worst_first(const std::vector<works::FaultEvent>& faults);

}  // namespace goodside::draw
