#pragma once
#include <span>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/limits.hpp"

namespace goodside::intake {

/// The formats that have limits of their own: "7in-33" … "12in-78", "12in-77.92", and "custom".
std::span<const std::string_view> limit_formats();

/// What passes where a works has said nothing. Sources stand beside the figures in limits.cpp and
/// in the text of default_limits_toml; where none is named the figure is common practice, no
/// source. An unknown format has the limits of "custom".
works::Limits built_in_limits(std::string_view format);

/// Limits from TOML: the built-in ones of the format, then `[limits.default]`, then
/// `[limits."FORMAT"]`, each overriding the one before. Keys are the fields of works::Limits in SI
/// units and dB; the text "not judged" takes a limit away; `name` names the set in the verdict.
/// Tables outside `limits` are other people's (goodside.toml holds them all); without any `limits`
/// table the built-in limits stand. `shown_name` is the file as the person knows it. Errors:
/// Fault::bad_input as "file:line: what; the mend" for broken TOML, unknown keys and formats, wrong
/// types, NaN, infinity and figures out of range.
Result<works::Limits> limits_from_toml(std::string_view text,
                                       const std::string& shown_name,
                                       std::string_view format);

/// limits_from_toml on a file. Errors also: those of read_whole.
Result<works::Limits> read_limits(const std::string& path, std::string_view format);

/// One set of limits as the table `[limits."FORMAT"]`, with a remark on each figure;
/// limits_from_toml reads it back to the same values.
std::string limits_toml(const works::Limits&, std::string_view format);
/// The built-in limits of every format.
std::string default_limits_toml();

}  // namespace goodside::intake
