#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/backing.hpp"

namespace goodside::intake {

/// A plate's thickness at places of its face: a CSV table (csv_file.hpp) with a line a reading,
///   x_mm, y_mm   or   radius_mm, angle_deg
///   thickness_um or thickness_mm
/// and no other column. Errors: Fault::bad_input naming file, line and column.
Result<std::vector<works::GaugeReading>> thickness_from_csv(std::string_view text,
                                                            const std::string& shown_name);
Result<std::vector<works::GaugeReading>> read_thickness(const std::string& path);

}  // namespace goodside::intake
