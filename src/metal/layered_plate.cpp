#include "metal/layered_plate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/expects.hpp"
#include "metal/solder.hpp"

namespace goodside::metal {
namespace {

using works::BowAt;
using works::PlateLayer;

constexpr double celsius_K = 273.15;
constexpr double outgrown_share = 0.1;
constexpr double creeps_above =
    0.5;  // of the melting point, absolute: from memory, any text on creep
constexpr double solder_yields_Pa =
    30e6;  // tin-lead, slowly loaded: from memory; sets a word, no figure

double biaxial(const PlateLayer& layer) {
  return layer.modulus_Pa / (1.0 - layer.poisson);
}

/// The greatest stress in each layer, by size, at a given curvature (forces balanced).
std::vector<double> stresses(std::span<const PlateLayer> layers,
                             double change_K,
                             double curvature) {
  double stiffness = 0.0, force = 0.0, z = 0.0;
  for (const auto& layer : layers) {
    const double m = biaxial(layer) * layer.thickness_m;
    stiffness += m;
    force += m * (layer.expansion_per_K * change_K - curvature * (z + 0.5 * layer.thickness_m));
    z += layer.thickness_m;
  }
  const double e0 = force / stiffness;
  std::vector<double> all;
  z = 0.0;
  for (const auto& layer : layers) {
    const auto at = [&](double height) {
      return biaxial(layer) * (e0 + curvature * height - layer.expansion_per_K * change_K);
    };
    const double low = at(z), high = at(z + layer.thickness_m);
    all.push_back(std::abs(low) > std::abs(high) ? low : high);
    z += layer.thickness_m;
  }
  return all;
}

Outcome check(const BackingQuestion& question) {
  if (question.layers.size() < 2)
    return Error{Fault::bad_input, "a backed stamper has two layers at least"};
  for (const auto& layer : question.layers)
    if (!(layer.thickness_m > 0.0 && layer.thickness_m <= 0.1 && layer.modulus_Pa > 1e8 &&
          layer.modulus_Pa < 1e12 && layer.poisson >= 0.0 && layer.poisson < 0.5 &&
          std::abs(layer.expansion_per_K) < 1e-3))
      return Error{
          Fault::out_of_range,
          fmt::format(
              "{}: {:g} mm thick, E {:g} GPa, Poisson's ratio {:g}, expansion {:g} per K: no plate "
              "of a works is so; look at the thickness first",
              layer.name,
              layer.thickness_m * 1e3,
              layer.modulus_Pa * 1e-9,
              layer.poisson,
              layer.expansion_per_K)};
  for (const double one : {question.room_K, question.press_K, question.hottest_K})
    if (!(one > 200.0 && one < 800.0))
      return Error{Fault::out_of_range,
                   fmt::format("{:g} °C is no temperature of a pressing works", one - celsius_K)};
  if (!(question.radius_m > 0.01 && question.radius_m < 1.0))
    return Error{Fault::out_of_range,
                 fmt::format("a plate {:g} mm across is no stamper", 2e3 * question.radius_m)};
  return Done{};
}

BowAt bow(const BackingQuestion& question, double temperature_K, std::string when) {
  const double change = temperature_K - question.solder.solidus_K;
  const FreePlate plate = free_plate(question.layers, change);
  const double r2 = question.radius_m * question.radius_m;
  BowAt one{.when = std::move(when), .temperature_K = temperature_K};
  one.linear_curvature_per_m = plate.curvature_per_m;
  one.curvature_per_m = bowl_curvature_per_m(plate, question.radius_m);
  one.linear_sag_m = 0.5 * plate.curvature_per_m * r2;
  one.sag_m = 0.5 * one.curvature_per_m * r2;
  one.outgrown =
      std::abs(one.linear_sag_m - one.sag_m) > outgrown_share * std::abs(one.linear_sag_m);
  one.may_roll = std::abs(one.curvature_per_m) * r2 *
                     std::sqrt(plate.membrane_N_per_m / (192.0 * plate.bending_N_m)) >
                 1.0 / std::sqrt(1.0 + plate.poisson);
  one.stress_Pa = stresses(question.layers, change, one.curvature_per_m);
  one.flat_stress_Pa = stresses(question.layers, change, 0.0);
  // A simply supported plate under even pressure p sags by (5 + nu) p R^4 / (64 (1 + nu) D) at its middle.
  const double d = plate.bending_N_m / (1.0 + plate.poisson);
  one.flattening_Pa =
      std::abs(one.sag_m) * 64.0 * (1.0 + plate.poisson) * d / ((5.0 + plate.poisson) * r2 * r2);
  return one;
}

void say(works::BackingReport& report, const BackingQuestion& question) {
  const BowAt& cold = report.bows.front();
  if (cold.outgrown)
    report.remarks.push_back(
        fmt::format("the bow is too large for thin-plate theory ({:.1f} mm by it): a bowl must "
                    "stretch, and the figure "
                    "given holds that; take it as good to a tenth",
                    std::abs(cold.linear_sag_m) * 1e3));
  if (cold.may_roll)
    report.remarks.push_back(
        "a plate bowed so far may snap from a bowl into a roll, and back, with a bang");
  if (report.solder_share_of_melting > creeps_above)
    report.remarks.push_back(
        fmt::format("the solder creeps: {:.0f} °C is {:.2f} of its melting point, both absolute. "
                    "Bow and stress are the most there "
                    "can be; within days they grow less, in the press within minutes, and each "
                    "cycle works the joint",
                    question.room_K - celsius_K,
                    report.solder_share_of_melting));
  for (std::size_t i = 0; i < report.layers.size(); ++i)
    if (report.layers[i].name == "solder" && std::abs(cold.stress_Pa[i]) > solder_yields_Pa)
      report.remarks.push_back(
          fmt::format("the solder would carry {:.0f} MPa and yields near {:.0f} (from memory): "
                      "part of the bow never comes",
                      std::abs(cold.stress_Pa[i]) * 1e-6,
                      solder_yields_Pa * 1e-6));
}

}  // namespace

double bimetal_curvature_per_m(const PlateLayer& first,
                               const PlateLayer& second,
                               double temperature_change_K) {
  const double m = first.thickness_m / second.thickness_m, n = first.modulus_Pa / second.modulus_Pa;
  const double h = first.thickness_m + second.thickness_m;
  const double square = (1.0 + m) * (1.0 + m);
  return 6.0 * (second.expansion_per_K - first.expansion_per_K) * temperature_change_K * square /
         (h * (3.0 * square + (1.0 + m * n) * (m * m + 1.0 / (m * n))));
}

FreePlate free_plate(std::span<const PlateLayer> layers, double temperature_change_K) {
  EXPECTS(!layers.empty());
  double a = 0.0, b = 0.0, d = 0.0, force = 0.0, moment = 0.0, poisson = 0.0, z = 0.0;
  for (const auto& layer : layers) {
    const double t = layer.thickness_m, m = biaxial(layer), middle = z + 0.5 * t;
    a += m * t;
    b += m * t * middle;
    d += m * t * (middle * middle + t * t / 12.0);
    force += m * t * layer.expansion_per_K * temperature_change_K;
    moment += m * t * middle * layer.expansion_per_K * temperature_change_K;
    poisson += m * t * layer.poisson;
    z += t;
  }
  const double bending = d - b * b / a;
  return {.curvature_per_m = (moment - b * force / a) / bending,
          .membrane_N_per_m = a,
          .bending_N_m = bending,
          .neutral_m = b / a,
          .poisson = poisson / a,
          .thickness_m = z};
}

double bowl_curvature_per_m(const FreePlate& plate, double radius_m) {
  const double cubic = (1.0 - plate.poisson) * plate.membrane_N_per_m * std::pow(radius_m, 4) /
                       (192.0 * plate.bending_N_m);
  // k + c k^3 = k0 has one real root: Newton from above falls onto it without passing it.
  const double target = std::abs(plate.curvature_per_m);
  double k = target;
  for (int round = 0; round < 100; ++round) {
    const double step = (k + cubic * k * k * k - target) / (1.0 + 3.0 * cubic * k * k);
    k -= step;
    if (std::abs(step) <= 1e-15 * target) break;
  }
  return std::copysign(k, plate.curvature_per_m);
}

Result<works::BackingReport> backing(const BackingQuestion& question) {
  if (const auto checked = check(question); !checked) return checked.error();
  works::BackingReport report;
  report.layers = question.layers;
  report.solder = question.solder.name;
  report.radius_m = question.radius_m;
  report.flat_limit_m = question.flat_limit_m;
  report.flat_limit_from = question.flat_limit_from;
  report.hottest_K = question.hottest_K;
  report.least_margin_K = question.least_margin_K;
  report.bows = {bow(question, question.room_K, "off the press"),
                 bow(question, question.press_K, "in the press")};
  report.flat = std::abs(report.bows.front().sag_m) <= question.flat_limit_m;
  report.solder_share_of_melting = question.room_K / question.solder.solidus_K;
  report.solders = rank_solders(question.choice, question.hottest_K, question.least_margin_K);
  report.solder_fit = question.solder.solidus_K - question.hottest_K >= question.least_margin_K;
  if (question.press_K >= question.solder.solidus_K)
    report.remarks.push_back(
        "at the press's temperature this solder is liquid: the plate comes off its back");
  say(report, question);
  return report;
}

}  // namespace goodside::metal
