#include "line/cut_biscuit.hpp"

#include "compound/mixture.hpp"
#include "intake/recipe_file.hpp"

namespace goodside::line {
namespace {

Result<double> density_of(const std::string& recipe) {
  auto read = intake::read_recipe(recipe);
  if (!read) return read.error();
  const auto checked = compound::checked(std::move(*read));
  if (!checked) return Error{checked.error().fault, recipe + ": " + checked.error().text};
  return compound::mixture(*checked).density_kg_per_m3;
}

}  // namespace

Result<works::BiscuitReport> cut_biscuit(const BiscuitFiles& files) {
  works::BiscuitRequest request = files.request;
  if (!files.recipe.empty()) {
    const auto density = density_of(files.recipe);
    if (!density) return density.error();
    request.density_kg_per_m3 = *density;
  }
  auto profile = files.profile.empty() ? compound::profile_of(files.disc)
                                       : intake::read_profile(files.profile);
  if (!profile) return profile.error();
  request.profile = std::move(*profile);
  if (!files.weighed.empty()) {
    auto weighed = intake::read_masses(files.weighed);
    if (!weighed) return weighed.error();
    request.weighed_kg = std::move(*weighed);
  }
  return compound::biscuit(request);
}

}  // namespace goodside::line
