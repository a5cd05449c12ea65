#pragma once
#include <functional>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::intake {

/// A press and its cycle in TOML: a key for each figure, its value with unit in quotes (a bare
/// number where the figure has none); [a] and [b] hold what one side alone has:
///   compound = "vinyl"            first, where it stands
///   steam = "9 bar"
///   [a]
///   water = "15 °C"
///   [fitted]                      written by a fit: standard deviations as shares
///   steam_factor = 0.04
/// Each is handed to `take` as name ("steam", "a.water", "fitted.steam_factor") and text, and its
/// refusal is told with file and line.
using TakeFigure = std::function<Outcome(const std::string& name, const std::string& text)>;
Outcome press_from_toml(std::string_view text, const std::string& shown_name, const TakeFigure&);
Outcome read_press(const std::string& path, const TakeFigure&);

}  // namespace goodside::intake
