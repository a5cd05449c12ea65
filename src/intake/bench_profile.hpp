#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::intake {

/// A listening bench described once and named by `--bench NAME`; options override it. What is
/// absent was not said.
struct BenchProfile {
  std::string name;
  std::optional<double> arm_length_m;     ///< pivot to stylus
  std::optional<double> arm_mount_m;      ///< pivot to spindle
  std::optional<double> clock_error_ppm;  ///< of the sound card: true rate = nominal (1 + ppm 1e-6)
  std::optional<std::string> format;
  std::optional<double> rpm, outer_radius_m, inner_radius_m, pitch_m;
  std::optional<std::string> cartridge,
      equalise;  ///< words for the report; a playback curve's name
};

/// The table `[bench.NAME]` of a TOML text. Lengths are texts with a unit ("230 mm"),
/// `clock_error_ppm` a plain number, `rpm` either. Arm length and mounting go together, the length
/// being the longer. Errors: Fault::not_found when there is no such bench, naming those there are;
/// Fault::bad_input as "file:line: what; the mend".
Result<BenchProfile> bench_from_toml(std::string_view text,
                                     const std::string& shown_name,
                                     const std::string& bench);

/// bench_from_toml on a file. Errors also: those of read_whole.
Result<BenchProfile> read_bench(const std::string& path, const std::string& bench);

}  // namespace goodside::intake
