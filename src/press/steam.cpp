#include "press/steam.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <span>

namespace goodside::press {
namespace {

constexpr double gas_constant_J_per_kgK = 461.526;
constexpr double coldest_K = 273.15, line_end_K = 623.15, hottest_K = 1073.15;
constexpr double line_start_Pa = 611.213, highest_Pa = 100e6;
constexpr double rounding_K = 1e-6;

struct Term {
  int i, j;
  double n;
};

// [IF97] table 2.
constexpr auto region_1 = std::to_array<Term>({
    {0, -2, 0.14632971213167},       {0, -1, -0.84548187169114},
    {0, 0, -3.756360367204},         {0, 1, 3.3855169168385},
    {0, 2, -0.95791963387872},       {0, 3, 0.15772038513228},
    {0, 4, -0.016616417199501},      {0, 5, 0.00081214629983568},
    {1, -9, 0.00028319080123804},    {1, -7, -0.00060706301565874},
    {1, -1, -0.018990068218419},     {1, 0, -0.032529748770505},
    {1, 1, -0.021841717175414},      {1, 3, -5.283835796993e-05},
    {2, -3, -0.00047184321073267},   {2, 0, -0.00030001780793026},
    {2, 1, 4.7661393906987e-05},     {2, 3, -4.4141845330846e-06},
    {2, 17, -7.2694996297594e-16},   {3, -4, -3.1679644845054e-05},
    {3, 0, -2.8270797985312e-06},    {3, 6, -8.5205128120103e-10},
    {4, -5, -2.2425281908e-06},      {4, -2, -6.5171222895601e-07},
    {4, 10, -1.4341729937924e-13},   {5, -8, -4.0516996860117e-07},
    {8, -11, -1.2734301741641e-09},  {8, -6, -1.7424871230634e-10},
    {21, -29, -6.8762131295531e-19}, {23, -31, 1.4478307828521e-20},
    {29, -38, 2.6335781662795e-23},  {30, -39, -1.1947622640071e-23},
    {31, -40, 1.8228094581404e-24},  {32, -41, -9.3537087292458e-26},
});
// [IF97] table 11.
constexpr auto region_2_residual = std::to_array<Term>({
    {1, 0, -0.0017731742473213},    {1, 1, -0.017834862292358},     {1, 2, -0.045996013696365},
    {1, 3, -0.057581259083432},     {1, 6, -0.05032527872793},      {2, 1, -3.3032641670203e-05},
    {2, 2, -0.00018948987516315},   {2, 4, -0.0039392777243355},    {2, 7, -0.043797295650573},
    {2, 36, -2.6674547914087e-05},  {3, 0, 2.0481737692309e-08},    {3, 1, 4.3870667284435e-07},
    {3, 3, -3.227767723857e-05},    {3, 6, -0.0015033924542148},    {3, 35, -0.040668253562649},
    {4, 1, -7.8847309559367e-10},   {4, 2, 1.2790717852285e-08},    {4, 3, 4.8225372718507e-07},
    {5, 7, 2.2922076337661e-06},    {6, 3, -1.6714766451061e-11},   {6, 16, -0.0021171472321355},
    {6, 35, -23.895741934104},      {7, 0, -5.905956432427e-18},    {7, 11, -1.2621808899101e-06},
    {7, 25, -0.038946842435739},    {8, 8, 1.1256211360459e-11},    {8, 36, -8.2311340897998},
    {9, 13, 1.9809712802088e-08},   {10, 4, 1.0406965210174e-19},   {10, 10, -1.0234747095929e-13},
    {10, 14, -1.0018179379511e-09}, {16, 29, -8.0882908646985e-11}, {16, 50, 0.10693031879409},
    {18, 57, -0.33662250574171},    {20, 20, 8.9185845355421e-25},  {20, 35, 3.0629316876232e-13},
    {20, 48, -4.2002467698208e-06}, {21, 21, -5.9056029685639e-26}, {22, 53, 3.7826947613457e-06},
    {23, 39, -1.2768608934681e-15}, {24, 26, 7.3087610595061e-29},  {24, 40, 5.5414715350778e-17},
    {24, 58, -9.436970724121e-07},
});
// [IF97] table 10.
constexpr auto region_2_ideal = std::to_array<Term>({
    {0, 0, -9.6927686500217},
    {0, 1, 10.086655968018},
    {0, -5, -0.005608791128302},
    {0, -4, 0.071452738081455},
    {0, -3, -0.40710498223928},
    {0, -2, 1.4240819171444},
    {0, -1, -4.383951131945},
    {0, 2, -0.28408632460772},
    {0, 3, 0.021268463753307},
});
// [IAPWS-viscosity-2008] table 2.
constexpr auto viscosity_terms = std::to_array<Term>({
    {0, 0, 0.520094},     {1, 0, 0.0850895}, {2, 0, -1.08374},   {3, 0, -0.289555},
    {0, 1, 0.222531},     {1, 1, 0.999115},  {2, 1, 1.88797},    {3, 1, 1.26613},
    {5, 1, 0.120573},     {0, 2, -0.281378}, {1, 2, -0.906851},  {2, 2, -0.772479},
    {3, 2, -0.489837},    {4, 2, -0.25704},  {0, 3, 0.161913},   {1, 3, 0.257399},
    {0, 4, -0.0325372},   {3, 4, 0.0698452}, {4, 5, 0.00872102}, {3, 6, -0.00435673},
    {5, 6, -0.000593264},
});
// [IAPWS-conductivity-2011] table 2.
constexpr auto conductivity_terms = std::to_array<Term>({
    {0, 0, 1.60397357},    {0, 1, -0.646013523},  {0, 2, 0.111443906},  {0, 3, 0.102997357},
    {0, 4, -0.0504123634}, {0, 5, 0.00609859258}, {1, 0, 2.33771842},   {1, 1, -2.78843778},
    {1, 2, 1.53616167},    {1, 3, -0.463045512},  {1, 4, 0.0832827019}, {1, 5, -0.00719201245},
    {2, 0, 2.19650529},    {2, 1, -4.54580785},   {2, 2, 3.55777244},   {2, 3, -1.40944978},
    {2, 4, 0.275418278},   {2, 5, -0.0205938816}, {3, 0, -1.21051378},  {3, 1, 1.60812989},
    {3, 2, -0.621178141},  {3, 3, 0.0716373224},  {4, 0, -2.720337},    {4, 1, 4.57586331},
    {4, 2, -3.18369245},   {4, 3, 1.1168348},     {4, 4, -0.19268305},  {4, 5, 0.012913842},
});

/// A reduced Gibbs energy's derivatives by reduced pressure and inverse temperature.
struct Gibbs {
  double by_pi{}, by_tau{}, by_tau_tau{};
};

/// Of sum n x^i y^j by x and y.
Gibbs derivatives(std::span<const Term> terms, double x, double y) {
  Gibbs sum;
  for (const auto& [i, j, n] : terms) {
    const double power = n * std::pow(x, i) * std::pow(y, j);
    sum.by_pi += power * i / x;
    sum.by_tau += power * j / y;
    sum.by_tau_tau += power * j * (j - 1) / (y * y);
  }
  return sum;
}

SteamState state_of(const Gibbs& gibbs, const PressureTemperature& at, double pi, double tau) {
  const double scale = gas_constant_J_per_kgK * at.temperature_K;
  return {.density_kg_per_m3 = at.pressure_Pa / (scale * pi * gibbs.by_pi),
          .enthalpy_J_per_kg = scale * tau * gibbs.by_tau,
          .heat_capacity_J_per_kgK = -gas_constant_J_per_kgK * tau * tau * gibbs.by_tau_tau};
}

SteamState region_1_state(const PressureTemperature& at) {
  const double pi = at.pressure_Pa / 16.53e6, tau = 1386.0 / at.temperature_K;
  Gibbs gibbs = derivatives(region_1, 7.1 - pi, tau - 1.222);
  gibbs.by_pi = -gibbs.by_pi;
  return state_of(gibbs, at, pi, tau);
}

SteamState region_2_state(const PressureTemperature& at) {
  const double pi = at.pressure_Pa / 1e6, tau = 540.0 / at.temperature_K;
  const Gibbs ideal = derivatives(region_2_ideal, 1.0, tau);
  const Gibbs residual = derivatives(region_2_residual, pi, tau - 0.5);
  return state_of({.by_pi = 1.0 / pi + residual.by_pi,
                   .by_tau = ideal.by_tau + residual.by_tau,
                   .by_tau_tau = ideal.by_tau_tau + residual.by_tau_tau},
                  at,
                  pi,
                  tau);
}

// [IF97] table 34.
constexpr std::array<double, 11> line{0.0,
                                      0.11670521452767e4,
                                      -0.72421316703206e6,
                                      -0.17073846940092e2,
                                      0.12020824702470e5,
                                      -0.32325550322333e7,
                                      0.14915108613530e2,
                                      -0.48232657361591e4,
                                      0.40511340542057e6,
                                      -0.23855557567849,
                                      0.65017534844798e3};

double line_pressure_Pa(double temperature_K) {
  const double theta = temperature_K + line[9] / (temperature_K - line[10]);
  const double a = theta * theta + line[1] * theta + line[2];
  const double b = line[3] * theta * theta + line[4] * theta + line[5];
  const double c = line[6] * theta * theta + line[7] * theta + line[8];
  return 1e6 * std::pow(2.0 * c / (-b + std::sqrt(b * b - 4.0 * a * c)), 4);
}

double line_temperature_K(double pressure_Pa) {
  const double beta = std::pow(pressure_Pa / 1e6, 0.25);
  const double e = beta * beta + line[3] * beta + line[6];
  const double f = line[1] * beta * beta + line[4] * beta + line[7];
  const double g = line[2] * beta * beta + line[5] * beta + line[8];
  const double d = 2.0 * g / (-f - std::sqrt(f * f - 4.0 * e * g));
  const double sum = line[10] + d;
  return (sum - std::sqrt(sum * sum - 4.0 * (line[9] + line[10] * d))) / 2.0;
}

Error off_the_line(std::string_view given) {
  return {Fault::out_of_range,
          fmt::format("there is no saturated steam at {}: it lies between 0.01 °C, 0.0061 bar "
                      "and 350 °C, 165.3 bar, absolute",
                      given)};
}

std::string shown_bar(double pressure_Pa) {
  return fmt::format("{:.4g} bar", pressure_Pa / 1e5);
}
std::string shown_celsius(double temperature_K) {
  return fmt::format("{:.4g} °C", temperature_K - 273.15);
}

Saturation saturated(const PressureTemperature& at) {
  return {.pressure_Pa = at.pressure_Pa,
          .temperature_K = at.temperature_K,
          .liquid = region_1_state(at),
          .vapour = region_2_state(at)};
}

bool lies_in(double value, double low, double high) {
  return value >= low && value <= high;
}

Error outside_region(std::string_view phase, const PressureTemperature& at, std::string_view mend) {
  return {Fault::out_of_range,
          fmt::format("{} at {} and {} is outside IAPWS-IF97's region: {}",
                      phase,
                      shown_celsius(at.temperature_K),
                      shown_bar(at.pressure_Pa),
                      mend)};
}

/// [IAPWS-viscosity-2008] equations 11 and 12.
double viscosity_Pa_s(double temperature, double density) {
  const double bare =
      100.0 * std::sqrt(temperature) /
      (1.67752 + (2.20462 + (0.6366564 - 0.241605 / temperature) / temperature) / temperature);
  double sum = 0.0;
  for (const auto& [i, j, n] : viscosity_terms)
    sum += n * std::pow(1.0 / temperature - 1.0, i) * std::pow(density - 1.0, j);
  return 1e-6 * bare * std::exp(density * sum);
}

/// [IAPWS-conductivity-2011] equations 16 and 17.
double conductivity_W_per_mK(double temperature, double density) {
  constexpr std::array<double, 5> gas{
      2.443221e-3, 1.323095e-2, 6.770357e-3, -3.454586e-3, 4.096266e-4};
  double below = 0.0, sum = 0.0;
  for (std::size_t k = gas.size(); k-- > 0;) below = below / temperature + gas[k];
  for (const auto& [i, j, n] : conductivity_terms)
    sum += n * std::pow(1.0 / temperature - 1.0, i) * std::pow(density - 1.0, j);
  return 1e-3 * std::sqrt(temperature) / below * std::exp(density * sum);
}

}  // namespace

Result<double> saturation_temperature_K(double pressure_Pa) {
  if (!lies_in(pressure_Pa, line_start_Pa, line_pressure_Pa(line_end_K)))
    return off_the_line(shown_bar(pressure_Pa));
  return line_temperature_K(pressure_Pa);
}

Result<double> saturation_pressure_Pa(double temperature_K) {
  if (!lies_in(temperature_K, coldest_K, line_end_K))
    return off_the_line(shown_celsius(temperature_K));
  return line_pressure_Pa(temperature_K);
}

Result<Saturation> saturated_at_pressure(double pressure_Pa) {
  const auto temperature_K = saturation_temperature_K(pressure_Pa);
  if (!temperature_K) return temperature_K.error();
  return saturated({.pressure_Pa = pressure_Pa, .temperature_K = *temperature_K});
}

Result<Saturation> saturated_at_temperature(double temperature_K) {
  const auto pressure_Pa = saturation_pressure_Pa(temperature_K);
  if (!pressure_Pa) return pressure_Pa.error();
  return saturated({.pressure_Pa = *pressure_Pa, .temperature_K = temperature_K});
}

Result<SteamState> liquid_state(const PressureTemperature& at) {
  if (!lies_in(at.temperature_K, coldest_K, line_end_K) ||
      !lies_in(at.pressure_Pa, line_start_Pa, highest_Pa))
    return outside_region("water", at, "give 0 to 350 °C and 0.00612 to 1000 bar");
  const bool boils = at.pressure_Pa < line_pressure_Pa(line_end_K) &&
                     at.temperature_K > line_temperature_K(at.pressure_Pa) + rounding_K;
  if (boils) return outside_region("water", at, "it boils; raise the pressure or cool it");
  return region_1_state(at);
}

Result<SteamState> vapour_state(const PressureTemperature& at) {
  const bool on_line_side = at.temperature_K <= line_end_K;
  const double most_Pa = line_pressure_Pa(line_end_K);
  if (!lies_in(at.temperature_K, coldest_K, hottest_K) || !lies_in(at.pressure_Pa, 1.0, most_Pa))
    return outside_region("steam", at, "give 0 to 800 °C and at most 165.3 bar");
  const bool condenses = on_line_side && at.pressure_Pa > line_start_Pa &&
                         at.temperature_K < line_temperature_K(at.pressure_Pa) - rounding_K;
  if (condenses) return outside_region("steam", at, "it condenses; lower the pressure or heat it");
  return region_2_state(at);
}

Result<LiquidWater> liquid_water(const PressureTemperature& at) {
  const auto state = liquid_state(at);
  if (!state) return state.error();
  const double temperature = at.temperature_K / 647.096;
  const double density = state->density_kg_per_m3 / 322.0;
  return LiquidWater{.state = *state,
                     .viscosity_Pa_s = viscosity_Pa_s(temperature, density),
                     .conductivity_W_per_mK = conductivity_W_per_mK(temperature, density)};
}

}  // namespace goodside::press
