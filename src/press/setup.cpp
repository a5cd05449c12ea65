#include "press/setup.hpp"

namespace goodside::press {
namespace {

constexpr double zero_C = 273.15;

}  // namespace

// Values: handbook ranges stand in input.cpp's table with their sources.
Compound vinyl() {
  return {.name = "vinyl",
          .density_kg_per_m3 = 1380.0,
          .conductivity_W_per_mK = 0.17,
          .heat_capacity_J_per_kgK = {{293.15, 1000.0},
                                      {338.15, 1100.0},
                                      {358.15, 1500.0},
                                      {453.15, 1650.0}},
          .flow = {.exponent = 0.35,
                   .consistency_Pa_sn = 3e4,
                   .reference_K = zero_C + 165.0,
                   .activation_J_per_mol = 80e3,
                   .wlf = true,
                   .wlf_reference_K = zero_C + 72.0,
                   .solid_below_K = zero_C + 72.0},
          .flow_temperature_K = zero_C + 135.0,
          .set_temperature_K = zero_C + 65.0,
          .overheated_K = zero_C + 200.0,
          .expansion_per_K = 7e-5};
}

Compound shellac() {
  return {.name = "shellac",
          .filled = true,
          .density_kg_per_m3 = 1920.0,
          .conductivity_W_per_mK = 0.5,
          .heat_capacity_J_per_kgK = 1000.0,
          .flow = {.exponent = 0.4,
                   .consistency_Pa_sn = 5e4,
                   .reference_K = zero_C + 120.0,
                   .activation_J_per_mol = 80e3,
                   .solid_below_K = zero_C + 65.0},
          .flow_temperature_K = zero_C + 105.0,
          .set_temperature_K = zero_C + 55.0,
          .overheated_K = zero_C + 150.0,
          .expansion_per_K = 3.5e-5};
}

CycleSetup vinyl_setup() {
  CycleSetup setup;
  setup.compound = vinyl();
  // Volume 135.2 cm3 of the disc and 3 % of flash.
  setup.biscuit = {.mass_kg = 0.192, .diameter_m = 0.110, .temperature_K = zero_C + 145.0};
  return setup;
}

CycleSetup shellac_setup() {
  CycleSetup setup;
  setup.compound = shellac();
  setup.disc = {.diameter_m = 0.250, .thickness_m = 0.0022, .thickness_tolerance_m = 0.00015};
  setup.biscuit = {.mass_kg = 0.218, .diameter_m = 0.150, .temperature_K = zero_C + 110.0};
  setup.die_diameter_m = 0.280;
  setup.force_N = 430e3;
  setup.limits.dish_m = 0.0005;
  for (Side& side : setup.sides) side.steam_gauge_Pa = 4e5;
  return setup;
}

}  // namespace goodside::press
