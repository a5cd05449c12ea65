#pragma once
#include <span>
#include <string_view>

#include "base/result.hpp"
#include "works/side.hpp"

namespace goodside::disc {

/// A named disc format.
/// Source:  diameters of edge, label and finishing groove, hole, outermost recorded groove: JIS S
/// 8502-1973 and
///          IEC 60098:1987; innermost recorded groove of 10 and 12 in: RIAA 1963 (4 3/4 in). Coarse
///          groove: nothing inside 47.5 mm by IEC 98-1958; usual innermost 50 mm and label common
///          practice, no source. Turns a minute of 78s: 3600/46 and 6000/77, stroboscopes of 92
///          bars at 60 Hz and 77 bars at 50 Hz (from memory).
struct Format {
  std::string_view name;
  double rpm;
  double disc_diameter_m;
  double outer_radius_m, inner_radius_m;  ///< usual first and last recorded groove
  double finishing_radius_m;              ///< of the locked groove at the end
  double label_diameter_m, hole_diameter_m;
  bool shellac_type;
};

/// All formats: 7in, 10in and 12in with -33, -45, -78 and -77.92, as in "12in-33".
std::span<const Format> formats();

/// The format of that name.   Errors: Fault::not_found, listing the names there are.
Result<Format> format(std::string_view name);

/// The side that a format stands for: its radii, speed and compound, no pitch, no marks.
works::CutSide cut_side(const Format& format);

/// `cut_side(format(name))`.
Result<works::CutSide> cut_side(std::string_view name);

}  // namespace goodside::disc
