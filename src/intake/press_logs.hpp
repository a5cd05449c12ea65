#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace goodside::intake {

/// One thermocouple of a log. `side` 0 A, 1 B; depth from the stamper's seat into the die, or the
/// stamper's face itself; neither for the middle of the compound.
struct Thermocouple {
  std::string name;
  std::optional<int> side;
  std::optional<double> depth_m;                     ///< empty: the face, or the middle
  std::vector<std::optional<double>> temperature_K;  ///< one a line; empty cells are gaps
};

/// One cycle of a press that has come to repeat itself, as CSV (csv_file.hpp): `time_s`, 0 as the
/// press is fully open, and a column a thermocouple in °C named by its place: `a_face`, `b_face`,
/// `a_3mm`, `b_12.5mm` (from the stamper's seat into the steel), `middle` (in the compound).
struct ThermocoupleLog {
  std::vector<double> time_s;
  std::vector<Thermocouple> places;
};

/// One short charge of a ladder: `mass_g` and what came out, `diameter_mm`, `thickness_mm`.
struct ShortCharge {
  double mass_kg{}, diameter_m{}, thickness_m{};
};

// Errors: Fault::bad_input naming file, line and column: unknown columns (the nearest offered),
// cells that are no numbers or cannot be, times that do not grow, fewer lines than can tell.
Result<ThermocoupleLog> thermocouples_from_csv(std::string_view text,
                                               const std::string& shown_name);
Result<std::vector<ShortCharge>> charges_from_csv(std::string_view text,
                                                  const std::string& shown_name);
Result<ThermocoupleLog> read_thermocouples(const std::string& path);
Result<std::vector<ShortCharge>> read_charges(const std::string& path);

}  // namespace goodside::intake
