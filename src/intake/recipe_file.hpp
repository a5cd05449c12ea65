#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"
#include "works/biscuit_report.hpp"
#include "works/recipe.hpp"

namespace goodside::intake {

/// A recipe as people keep it; docs/compound.md lists every key. TOML: name, colour, kind, and the
/// tables [ingredient.NAME], [role.ROLE], [property.NAME], [density], [binder_volume], [scale.NAME],
/// [mixer]. CSV: a line an ingredient, the same keys as columns, `name` first of them. Quantities carry
/// their unit, or the key does (density_g_per_cm3, stock_kg); a fraction is 0.135 or "13.5 %". Where
/// every ingredient has `parts`, fractions are parts of their sum.
/// Errors: Fault::bad_input as "file:line: what; the mend": an unknown key, role or unit, what is
/// needed and missing, no finite number. That fractions sum to 1 is for compound::checked.
Result<works::Recipe> recipe_from_toml(std::string_view text, const std::string& shown_name);
Result<works::Recipe> recipe_from_csv(std::string_view text, const std::string& shown_name);

/// By the name's ending: .csv, and TOML otherwise. Errors also: those of read_whole.
Result<works::Recipe> read_recipe(const std::string& path);

/// What the scale said: CSV with the columns `ingredient` and `mass` (with its unit), `mass_kg` or
/// `mass_g`; other columns are passed over. One ingredient's lines are added up.
/// Errors: as above.
Result<std::vector<works::Weighed>> weighed_from_csv(std::string_view text,
                                                     const std::string& shown_name);
Result<std::vector<works::Weighed>> read_weighed(const std::string& path);

/// Masses of biscuits or discs in the order they were weighed [kg]: a column `mass` (with its unit),
/// `mass_kg` or `mass_g`; other columns are passed over; empty cells are too.
Result<std::vector<double>> masses_from_csv(std::string_view text, const std::string& shown_name);
Result<std::vector<double>> read_masses(const std::string& path);

/// A disc's thickness over its radius from the hole outwards: columns `radius` and `thickness`, with
/// units, or `radius_mm` and `thickness_mm`; a step where two lines have one radius.
Result<works::DiscProfile> profile_from_csv(std::string_view text, const std::string& shown_name);
Result<works::DiscProfile> read_profile(const std::string& path);

}  // namespace goodside::intake
