#include "metal/metals.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace goodside::metal {
namespace {

using works::PlatingMetal;

constexpr std::string_view from_memory =
    "atomic weight [IUPAC2021]; density, efficiency, conductivity, kinetics and bath from memory "
    "of "
    "handbooks, common practice: measure your own";

constexpr std::string_view nickel_hazard =
    "Nickel salts and mist: a carcinogen when breathed, and a sensitiser of skin and lungs. "
    "Extract "
    "mist, wear gloves, do not eat here, keep to health surveillance.";
constexpr std::string_view chromium_hazard =
    "Chromium(VI): a carcinogen, corrosive, an oxidiser. Local exhaust and fume suppressant, "
    "gloves, "
    "face shield, eyewash at hand; never near solvents or organic matter; ask first whether a "
    "chromium(III) flash will do.";
constexpr std::string_view acid_hazard =
    "Acid: add acid to water, never water to acid, slowly and stirred; eyewash at hand. Never let "
    "an "
    "acid meet a cyanide.";

PlatingMetal nickel() {
  PlatingMetal metal{.name = "nickel",
                     .molar_mass_kg_per_mol = 58.6934e-3,
                     .density_kg_per_m3 = 8908.0,
                     .electrons_per_ion = 2,
                     .cathode_efficiency = 0.96,
                     .current_density_A_per_m2 = 600.0,
                     .low_A_per_m2 = 10.0,
                     .high_A_per_m2 = 2000.0,
                     .usual_thickness_m = 220e-6,
                     .conductivity_S_per_m = 8.0,
                     .tafel_slope_V_per_decade = 0.12,
                     .exchange_current_density_A_per_m2 = 0.01,
                     .elastic_modulus_Pa = 200e9,
                     .poisson_ratio = 0.31};
  metal.salts.push_back({"nickel sulfamate", 400.0, 0.2339});
  metal.salts.push_back({"nickel chloride hexahydrate", 5.0, 0.2469});
  metal.salts.push_back({"boric acid", 38.0, 0.0});
  metal.cautions.emplace_back(nickel_hazard);
  metal.warnings.emplace_back(
      "Above about 70 °C or below pH 3 sulfamate breaks down and the deposit turns "
      "stressed (from memory).");
  metal.source = from_memory;
  return metal;
}

PlatingMetal copper() {
  PlatingMetal metal{.name = "copper",
                     .molar_mass_kg_per_mol = 63.546e-3,
                     .density_kg_per_m3 = 8960.0,
                     .electrons_per_ion = 2,
                     .cathode_efficiency = 0.98,
                     .current_density_A_per_m2 = 400.0,
                     .low_A_per_m2 = 20.0,
                     .high_A_per_m2 = 1000.0,
                     .usual_thickness_m = 700e-6,
                     .conductivity_S_per_m = 25.0,
                     .tafel_slope_V_per_decade = 0.12,
                     .exchange_current_density_A_per_m2 = 10.0,
                     .elastic_modulus_Pa = 117e9,
                     .poisson_ratio = 0.34};
  metal.salts.push_back({"copper sulfate pentahydrate", 220.0, 0.2545});
  metal.salts.push_back({"sulfuric acid", 60.0, 0.0});
  metal.cautions.emplace_back(acid_hazard);
  metal.source = from_memory;
  return metal;
}

PlatingMetal chromium() {
  PlatingMetal metal{.name = "chromium",
                     .molar_mass_kg_per_mol = 51.9961e-3,
                     .density_kg_per_m3 = 7190.0,
                     .electrons_per_ion = 6,
                     .cathode_efficiency = 0.13,
                     .current_density_A_per_m2 = 2000.0,
                     .low_A_per_m2 = 1000.0,
                     .high_A_per_m2 = 4000.0,
                     .usual_thickness_m = 1e-6,
                     .conductivity_S_per_m = 50.0,
                     .tafel_slope_V_per_decade = 0.12,
                     .exchange_current_density_A_per_m2 = 0.01,
                     .soluble_anode = false,
                     .anode_efficiency = 0.0,
                     .elastic_modulus_Pa = 279e9,
                     .poisson_ratio = 0.21};
  metal.salts.push_back({"chromic acid", 250.0, 0.52});
  metal.salts.push_back({"sulfuric acid", 2.5, 0.0});
  metal.cautions.emplace_back(chromium_hazard);
  metal.cautions.emplace_back(acid_hazard);
  metal.warnings.emplace_back(
      "The efficiency of a chromium bath falls and rises with current density, "
      "temperature and sulfate: weigh a part before trusting a time.");
  metal.source = from_memory;
  return metal;
}

PlatingMetal nickel_flash() {
  PlatingMetal flash = nickel();
  flash.name = "nickel-flash";
  flash.cathode_efficiency = 0.95;
  flash.current_density_A_per_m2 = 200.0;
  flash.high_A_per_m2 = 500.0;
  flash.usual_thickness_m = 5e-6;
  flash.warnings.emplace_back(
      "A nickel face over copper that is to be chromium faced goes on without "
      "drying in between: nickel that has dried is passive, and the chromium peels.");
  return flash;
}

PlatingMetal chromium_flash() {
  PlatingMetal flash = chromium();
  flash.name = "chromium-flash";
  flash.usual_thickness_m = 0.5e-6;
  flash.warnings.emplace_back(
      "Passive nickel under chromium peels: go from a live rinse into the bath "
      "with the current on, "
      "and strip and face again rather than patch. Above about 1 µm a bright "
      "chromium flash cracks.");
  return flash;
}

}  // namespace

std::span<const PlatingMetal> built_in_metals() {
  static const std::vector<PlatingMetal> metals = [] {
    std::vector<PlatingMetal> all;
    for (auto* const make : {nickel, copper, chromium, nickel_flash, chromium_flash})
      all.push_back(make());
    return all;
  }();
  return metals;
}

}  // namespace goodside::metal
