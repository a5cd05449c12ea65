#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/plating.hpp"

namespace goodside::intake {

/// What a works says of its metal room: metals (new ones, or figures of the built-in ones put right), and cells.
struct MetalRoom {
  std::vector<works::PlatingMetal> metals;
  struct Cell {
    std::string name;
    works::PlatingCell cell;
  };
  std::vector<Cell> cells{};
};

/// From TOML, on top of `built_in` metals:
///   [metals.nickel]              # a known name: figures given replace the built-in ones
///   cathode_efficiency = 0.94
///   [metals."tin-flash"]         # a new name: like = "nickel" begins from another metal, else all figures are needed
///   [metals.nickel.salts]        # replaces all salts
///   "nickel sulfamate" = {concentration = "400 g/L", metal_share = 0.234}
///   [cells."rotary 1"]           # lengths; disc_radius, cell_radius and anode_distance are needed, the rest is of ordinary proportions
///   disc_radius = "160 mm"
/// Quantities are text with a unit. Other tables are other people's. Errors: Fault::bad_input as "file:line: what; the
/// mend" for broken TOML, unknown names, wrong types and units.
Result<MetalRoom> metals_from_toml(std::string_view text,
                                   const std::string& shown_name,
                                   std::vector<works::PlatingMetal> built_in);
/// The same on a file.
Result<MetalRoom> read_metals(const std::string& path, std::vector<works::PlatingMetal> built_in);

}  // namespace goodside::intake
