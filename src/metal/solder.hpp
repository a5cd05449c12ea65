#pragma once
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/backing.hpp"

namespace goodside::metal {

/// Common solders, by solidus. Temperatures from memory of standard alloy tables: the maker's sheet counts.
[[nodiscard]] std::span<const works::Solder> common_solders();
/// Errors: Fault::not_found, naming the nearest.
Result<works::Solder> solder(std::string_view name);

/// Nickel, copper, steel and other metals of a stack at about 20 °C, `thickness_m` as given; "solder" is tin-lead.
/// From memory of handbook tables; electroformed nickel's modulus is 150 to 210 GPa. Errors: Fault::not_found.
Result<works::PlateLayer> metal_layer(std::string_view metal, double thickness_m);

/// Every solder against the press's hottest moment, fit ones first, each by its margin: the one that melts lowest and
/// is still safe bows the plate least. `least_margin_K` between solidus and hottest moment: common practice, no source.
[[nodiscard]] std::vector<works::SolderChoice> rank_solders(std::span<const works::Solder> solders,
                                                            double hottest_K,
                                                            double least_margin_K);

}  // namespace goodside::metal
