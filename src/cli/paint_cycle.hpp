#pragma once
#include <string>

#include "base/result.hpp"
#include "line/press_setup.hpp"

namespace goodside::cli {

enum class CyclePlot { temperatures, profile, radius, window };

/// "temperatures", "profile", "radius" or "window".
Result<CyclePlot> cycle_plot(std::string_view text);

/// Draws one picture of a cycle into the file named: temperatures and pressures over time with the
/// events marked, the stack's profile at them, radius and gap over time, or the window's map.
/// Errors: Fault::bad_input for a file's ending or a window that was not asked for; Fault::io.
Outcome paint_cycle(const line::CycleAnswer&, CyclePlot, const std::string& path);

}  // namespace goodside::cli
