#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/centring.hpp"

namespace goodside::intake {

/// A groove's places as a microscope or a gauge gave them: a CSV table (csv_file.hpp) with a line a reading,
///   angle_deg    any number of degrees
///   position     with its unit (`53.212 mm`), or position_mm, position_um, position_in without
/// and no other column. Errors: Fault::bad_input naming file, line and column: a column that is none of these or is
/// missing, a cell that is no such quantity; a table without lines.
Result<std::vector<works::GrooveReading>> readings_from_csv(std::string_view text,
                                                            const std::string& shown_name);
Result<std::vector<works::GrooveReading>> read_groove_readings(const std::string& path);

/// One reading as it is typed: `90=53.262mm`. Errors: Fault::bad_input.
Result<works::GrooveReading> typed_reading(std::string_view text);
/// Degrees, with or without their sign (`90`, `90°`, `90 deg`), -360000..360000, as radians.
Result<double> angle_rad(std::string_view text);

}  // namespace goodside::intake
