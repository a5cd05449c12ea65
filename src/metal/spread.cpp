#include "metal/spread.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <tuple>
#include <utility>

#include "base/expects.hpp"
#include "metal/deposit.hpp"
#include "metal/kinetics.hpp"
#include "metal/ramp.hpp"

namespace goodside::metal {
namespace {

using works::CurrentStage;

constexpr double least_share = 0.02;
constexpr int shapes_over_a_ramp = 7;
constexpr double steady = 1.05;  ///< currents within 5 % have one shape

double most_current_A(std::span<const CurrentStage> stages) {
  double most = 0.0;
  for (const auto& stage : stages) most = std::max({most, stage.from_A, stage.to_A});
  return most;
}

double least_current_A(std::span<const CurrentStage> stages) {
  double least = most_current_A(stages);
  for (const auto& stage : stages) least = std::min({least, stage.from_A, stage.to_A});
  return least;
}

std::vector<double> currents_to_solve(std::span<const CurrentStage> stages, bool one_shape) {
  const double most = most_current_A(stages);
  const double least = std::max(least_share * most, least_current_A(stages));
  if (one_shape || most <= steady * least) return {most};
  std::vector<double> currents;
  const double middle = 0.5 * std::log(most * least), half = 0.5 * std::log(most / least);
  for (int k = 0; k < shapes_over_a_ramp; ++k)
    currents.push_back(
        std::exp(middle - half * std::cos(std::numbers::pi * k / (shapes_over_a_ramp - 1))));
  return currents;
}

double between(const works::ThicknessProfile& profile, double radius_m) {
  const auto& r = profile.radius_m;
  const auto& h = profile.thickness_m;
  if (radius_m <= r.front()) return h.front();
  if (radius_m >= r.back()) return h.back();
  const auto right =
      static_cast<std::size_t>(std::upper_bound(r.begin(), r.end(), radius_m) - r.begin());
  const double share = (radius_m - r[right - 1]) / (r[right] - r[right - 1]);
  return h[right - 1] + share * (h[right] - h[right - 1]);
}

}  // namespace

works::BandSpread band_spread(const works::ThicknessProfile& profile, const GrooveBand& band) {
  EXPECTS(profile.radius_m.size() >= 2 && profile.radius_m.size() == profile.thickness_m.size());
  std::vector<std::pair<double, double>> points{
      {band.inner_radius_m, between(profile, band.inner_radius_m)}};
  for (std::size_t k = 0; k < profile.radius_m.size(); ++k)
    if (profile.radius_m[k] > band.inner_radius_m && profile.radius_m[k] < band.outer_radius_m)
      points.emplace_back(profile.radius_m[k], profile.thickness_m[k]);
  points.emplace_back(band.outer_radius_m, between(profile, band.outer_radius_m));
  works::BandSpread spread{.inner_radius_m = band.inner_radius_m,
                           .outer_radius_m = band.outer_radius_m,
                           .least_m = points.front().second,
                           .least_radius_m = points.front().first,
                           .most_m = points.front().second,
                           .most_radius_m = points.front().first};
  double volume = 0.0;
  for (std::size_t k = 0; k < points.size(); ++k) {
    const auto [radius, thickness] = points[k];
    if (thickness < spread.least_m) std::tie(spread.least_radius_m, spread.least_m) = points[k];
    if (thickness > spread.most_m) std::tie(spread.most_radius_m, spread.most_m) = points[k];
    if (k + 1 < points.size())
      volume += 0.5 * (thickness + points[k + 1].second) *
                (points[k + 1].first * points[k + 1].first - radius * radius);
  }
  spread.mean_m = volume / (band.outer_radius_m * band.outer_radius_m -
                            band.inner_radius_m * band.inner_radius_m);
  spread.evenness = spread.most_m > 0.0
                        ? (spread.most_m - spread.least_m) / (spread.most_m + spread.least_m)
                        : 0.0;
  return spread;
}

Result<DepositGrowth> DepositGrowth::make(const works::PlatingMetal& metal,
                                          const works::PlatingCell& cell,
                                          const works::Kinetics& kinetics,
                                          std::span<const CurrentStage> stages,
                                          const GrooveBand& band,
                                          double fineness) {
  if (const auto fit = metal::check(metal); !fit) return fit.error();
  if (const auto fit = metal::check(stages); !fit) return fit.error();
  if (!(band.inner_radius_m >= 0.0 && band.inner_radius_m < band.outer_radius_m &&
        band.outer_radius_m <= cell.disc_radius_m))
    return Error{
        Fault::out_of_range,
        fmt::format(
            "the groove band, {:g} to {:g} mm, does not lie on a disc of {:g} mm radius; give "
            "0 <= inner < outer <= that",
            band.inner_radius_m * 1e3,
            band.outer_radius_m * 1e3,
            cell.disc_radius_m * 1e3)};
  auto field = PotentialField::make(cell, kinetics, fineness);
  if (!field) return field.error();
  DepositGrowth growth{std::move(*field)};
  growth.metal_ = metal;
  growth.cell_ = cell;
  growth.kinetics_ = kinetics;
  growth.stages_.assign(stages.begin(), stages.end());
  growth.band_ = band;
  growth.fineness_ = fineness;
  const bool one_shape =
      kinetics.law == works::KineticLaw::primary || kinetics.law == works::KineticLaw::linear;
  for (const double current : currents_to_solve(stages, one_shape)) {
    const auto state = growth.field_.solve(current);
    if (!state) return state.error();
    growth.balance_ = std::max(growth.balance_, state->charge_balance);
    growth.iterations_ += state->iterations;
    Shape shape{.current_A = current, .share_per_m2 = state->current_density_A_per_m2};
    for (double& one : shape.share_per_m2) one /= current;
    growth.shapes_.push_back(std::move(shape));
  }
  return growth;
}

std::vector<double> DepositGrowth::shape_at(double current_A) const {
  if (shapes_.size() == 1) return shapes_.front().share_per_m2;
  const double x =
      std::log(std::clamp(current_A, shapes_.front().current_A, shapes_.back().current_A));
  std::vector<double> shape(shapes_.front().share_per_m2.size(), 0.0);
  for (const Shape& one : shapes_) {
    double weight = 1.0;
    for (const Shape& other : shapes_)
      if (&other != &one)
        weight *= (x - std::log(other.current_A)) / std::log(one.current_A / other.current_A);
    for (std::size_t k = 0; k < shape.size(); ++k) shape[k] += weight * one.share_per_m2[k];
  }
  return shape;
}

/// Each stage by Gauss's four points in its current, in eight pieces where it rises.
std::vector<double> DepositGrowth::charge_per_m2(double time_s) const {
  constexpr std::array<std::pair<double, double>, 4> gauss{
      {{0.06943184420297371, 0.17392742256872692},
       {0.33000947820757187, 0.32607257743127307},
       {0.6699905217924281, 0.32607257743127307},
       {0.9305681557970263, 0.17392742256872692}}};
  std::vector<double> charge(shapes_.front().share_per_m2.size(), 0.0);
  const auto add = [&](double current_A, double charge_C) {
    if (!(charge_C > 0.0)) return;
    const auto shape = shape_at(current_A);
    for (std::size_t k = 0; k < charge.size(); ++k) charge[k] += charge_C * shape[k];
  };
  for (const auto& stage : until(stages_, time_s)) {
    if (shapes_.size() == 1 || stage.from_A == stage.to_A) {
      add(0.5 * (stage.from_A + stage.to_A), 0.5 * (stage.from_A + stage.to_A) * stage.time_s);
      continue;
    }
    constexpr int pieces = 8;
    for (int piece = 0; piece < pieces; ++piece)
      for (const auto& [at, weight] : gauss) {
        const double current = stage.from_A + (stage.to_A - stage.from_A) * (piece + at) / pieces;
        add(current, current * weight * stage.time_s / pieces);
      }
  }
  return charge;
}

works::ThicknessProfile DepositGrowth::profile(double time_s) const {
  const auto& edges = field_.ring_edges_m();
  const auto charge = charge_per_m2(time_s);
  works::ThicknessProfile profile;
  for (std::size_t k = 0; k < charge.size(); ++k) {
    profile.radius_m.push_back(0.5 * (edges[k] + edges[k + 1]));
    profile.thickness_m.push_back(deposit(metal_, std::max(0.0, charge[k]), 1.0).thickness_m);
  }
  return profile;
}

works::BandSpread DepositGrowth::band(double time_s) const {
  return band_spread(profile(time_s), band_);
}

Result<double> DepositGrowth::time_to_reach_s(double thickness_m) const {
  EXPECTS(thickness_m >= 0.0);
  const double planned_s = total_time_s(stages_);
  const auto least = [&](double time_s) { return band(time_s).least_m; };
  double low = 0.0, high = planned_s;
  if (least(high) < thickness_m) {
    if (!(stages_.back().to_A > 0.0))
      return Error{Fault::out_of_range,
                   "the last stage ends without current, so the thinnest place never reaches the "
                   "target; end "
                   "with a current that is held"};
    while (least(high) < thickness_m) {
      low = high;
      high *= 2.0;
      if (high > 1e10)
        return Error{Fault::out_of_range,
                     "the thinnest place does not reach the target in a human life; give more "
                     "current or a wider "
                     "opening"};
    }
  }
  // Secants within the bracket: the thickness grows evenly while the current is held.
  double at_low = least(low) - thickness_m, at_high = least(high) - thickness_m;
  double before = high;
  for (int step = 0; step < 200 && high - low > 1e-10 * high; ++step) {
    double middle = low - at_low * (high - low) / (at_high - at_low);
    if (step % 3 == 2 || !(middle > low && middle < high)) middle = 0.5 * (low + high);
    const double value = least(middle) - thickness_m;
    if (std::abs(value) <= 1e-10 * thickness_m) return middle;
    (value < 0.0 ? low : high) = middle;
    (value < 0.0 ? at_low : at_high) = value;
    before = middle;
  }
  return before;
}

Result<works::CellResult> DepositGrowth::result(double time_s) {
  const double last_A = std::max(current_A(stages_, time_s), least_share * most_current_A(stages_));
  const auto state = field_.solve(last_A);
  if (!state) return state.error();
  const auto ohmic = ohmic_resistance_ohm(cell_, fineness_);
  if (!ohmic) return ohmic.error();
  works::CellResult result{.cell = cell_,
                           .kinetics = kinetics_,
                           .profile = profile(time_s),
                           .band = {},
                           .voltage_V = state->voltage_V,
                           .ohmic_resistance_ohm = *ohmic,
                           .charge_balance = std::max(balance_, state->charge_balance),
                           .unknowns = field_.unknowns(),
                           .iterations = iterations_ + state->iterations,
                           .section = field_.section()};
  result.band = band_spread(result.profile, band_);
  const double mean = last_A / (std::numbers::pi * cell_.disc_radius_m * cell_.disc_radius_m);
  result.wagner = wagner(kinetics_, mean, cell_.conductivity_S_per_m, cell_.disc_radius_m);
  return result;
}

}  // namespace goodside::metal
