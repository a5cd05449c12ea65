#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/need.hpp"

namespace goodside::intake {

/// The works' own figures, from a TOML table `[need]` (names and ranges: works::need_items) and
/// `[need.recipe]`, shares by ingredient that make 1. What is absent keeps its default; `told` counts the
/// others. Errors: Fault::bad_input with file and line, the nearest name for an unknown one.
Result<works::NeedFigures> read_need_figures(const std::string& path);
Result<works::NeedFigures> need_figures_from_toml(std::string_view text,
                                                  const std::string& shown_name);

/// A table of orders [RFC 4180]: the columns order, title, quantity and, where wanted, material,
/// stampers_a … fathers_b (in hand) and age_a, age_b (closings of the stampers on the press).
/// Errors: Fault::bad_input with line and column; those of reading a file.
Result<std::vector<works::NeedOrder>> read_need_orders(const std::string& path);
Result<std::vector<works::NeedOrder>> need_orders_from_csv(std::string_view text,
                                                           const std::string& shown_name);

}  // namespace goodside::intake
