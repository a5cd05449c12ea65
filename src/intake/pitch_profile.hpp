#pragma once
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.hpp"

namespace goodside::intake {

/// Pairs (programme_s, pitch_m) in rising order of time, as works::CutSide takes them.
using PitchProfile = std::vector<std::pair<double, double>>;

/// A pitch profile from CSV: one line a point, two columns, separated by comma, semicolon or tab.
/// Time is in seconds or as mm:ss(.fff); pitch is in the unit that the heading ends in, `pitch_um`,
/// `pitch_mm`, `pitch_m` or with the unit in brackets, in metres without a heading. Lines beginning
/// with # are remarks. Errors: Fault::bad_input as "file:line: what; the mend" for what is no
/// number, negative or unsorted times, a pitch outside 10 um to 10 mm (lead-in and lead-out grooves
/// included), and fewer than two points.
Result<PitchProfile> pitch_profile_from_csv(std::string_view text, const std::string& shown_name);

/// pitch_profile_from_csv on a file. Errors also: those of read_whole.
Result<PitchProfile> read_pitch_profile(const std::string& path);

}  // namespace goodside::intake
