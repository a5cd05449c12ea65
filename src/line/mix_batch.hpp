#pragma once
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "works/mix_report.hpp"

namespace goodside::line {

/// A figure told for one ingredient beside its recipe: 20 kg in stock, a price of 9.5.
struct ToldFigure {
  std::string ingredient;
  double value{};
};

struct MixRequest {
  std::string recipe;  ///< file
  std::optional<double> batch_kg, total_kg;
  std::string weighed;               ///< file; empty: none
  std::vector<works::Weighed> said;  ///< beside it
  std::vector<works::Weighed>
      recorded;                       ///< in the bowl already, by the record; the others add to it
  std::vector<works::Weighed> asked;  ///< by the record; the charge where no mass is given
  double aim{1.0};                    ///< share of each tolerance a correction ends within
  bool cheapest{};
  std::optional<double> ahead_kg;  ///< that the stock must reach for
  std::vector<ToldFigure> stocks_kg, prices_per_kg;
  std::optional<double> regrind;  ///< share of the batch, in place of the recipe's
  std::optional<double> purge_left;
  // Over what the recipe says, or where it says nothing.
  std::optional<double> division_kg, bowl_m3, fill, power_W, start_temperature_K,
      dump_temperature_K;
};

/// Reads a recipe and reckons all that a mixer man asks of it: sheet, deviations, correction, cheapest
/// recipe, regrind, heat, purge. `is_within` says whether nothing is short, out or wet.
/// Errors: of intake/recipe_file.hpp and of src/compound, with the file's name before them.
Result<works::MixReport> mix_batch(const MixRequest& request);

/// What file and options say was weighed, one ingredient's masses added up; nothing of the record.
Result<std::vector<works::Weighed>> newly_weighed(const MixRequest& request);

}  // namespace goodside::line
